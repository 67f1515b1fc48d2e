using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Accounts;

/// <summary>The price list.</summary>
[Needs(Permission.KeepBooks)]
internal sealed class PricesModel(BookShelf shelf, AddPrice add, InstructorBook instructors, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    public static readonly IReadOnlyList<string> DayNames = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];

    [BindProperty]
    public PriceForm Input { get; set; } = new();

    public IReadOnlyList<(PriceRow Row, string Words, string State)> Rows { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Kinds { get; } = [new("Any", ""), .. KindRule.Shipped.Select(kind => new SelectListItem(kind.Name, kind.Kind.ToString()))];

    public IReadOnlyList<SelectListItem> Gearboxes { get; } = [new("Either", ""), .. GearboxWords.Choices];

    public IReadOnlyList<SelectListItem> Instructors { get; private set; } = [];

    public bool Narrow => Input.Kind is not null || Input.Gearbox is not null || Input.InstructorId is not null || Input.On.Count > 0 || Input.From is not null || Input.Until is not null;

    public Task<IActionResult> OnGetAsync(CancellationToken cancel) => ShowAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return await ShowAsync(cancel);
        }

        var added = await add.RunAsync(viewer, Input.Read(), cancel);
        if (!added.Ok)
        {
            this.AddRefusal(added.Refusal, nameof(Input));
            return await ShowAsync(cancel);
        }

        TempData["Done"] = "The price is added.";
        return Redirect("/accounts/prices");
    }

    private async Task<IActionResult> ShowAsync(CancellationToken cancel)
    {
        if (await shelf.FindAsync(cancel) is not { } book)
        {
            return Redirect(BookShelf.Page);
        }

        var names = await instructors.NamesAsync(cancel);
        var today = (await school.GetAsync(cancel)).Today(clock);
        Input.BookedFrom ??= today;
        Instructors = [new("Anybody", ""), .. names.OrderBy(name => name.Value, StringComparer.Ordinal).Select(name => new SelectListItem(name.Value, name.Key.ToString()))];
        Rows =
        [
            .. book.Prices.OrderByDescending(row => row.BookedFrom).ThenByDescending(row => row.Id)
                .Select(row => (row, PriceWords.Of(row, row.InstructorId is { } id ? names.GetValueOrDefault(id) : null), StateOf(row))),
        ];
        return Page();

        string StateOf(PriceRow row) => row.BookedFrom > today ? "to come"
            : book.Prices.Exists(other => other.BookedFrom <= today && (other.BookedFrom, other.Id).CompareTo((row.BookedFrom, row.Id)) > 0 && other.Rule().IsForTheSameAs(row.Rule())) ? "past"
            : row.Pence is null ? "ended" : "now";
    }

    internal sealed class PriceForm
    {
        public Pounds? Pence { get; init; }

        public int Minutes { get; init; } = 60;

        public bool OnlyThisLength { get; init; }

        public LocalDate? BookedFrom { get; set; }

        public LessonKind? Kind { get; init; }

        public Gearbox? Gearbox { get; init; }

        public Guid? InstructorId { get; init; }

        public List<int> On { get; init; } = [];

        public LocalTime? From { get; init; }

        public LocalTime? Until { get; init; }

        public PriceInput Read() => new()
        {
            Pence = Pence?.Pence,
            Minutes = Minutes,
            OnlyThisLength = OnlyThisLength,
            BookedFrom = BookedFrom,
            Kind = Kind,
            Gearbox = Gearbox,
            InstructorId = InstructorId,
            Days = On.Count == 0 ? null : On.Aggregate(0, (days, day) => days | day),
            From = From,
            Until = Until,
        };
    }
}
