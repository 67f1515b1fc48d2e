using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>The office's day of money.</summary>
[Needs(Permission.KeepBooks)]
internal sealed class IndexModel(
    BookShelf shelf, MoneyDay money, HandInCash handIn, PupilBook pupils, InstructorBook instructors, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    private IReadOnlyDictionary<Guid, PupilCard> cards = new Dictionary<Guid, PupilCard>();
    private IReadOnlyDictionary<Guid, string> names = new Dictionary<Guid, string>();

    [BindProperty]
    public HandInForm Input { get; set; } = new();

    [BindProperty(SupportsGet = true)]
    public LocalDate Date { get; set; }

    public Book? Book { get; private set; }

    public string DayWords { get; private set; } = "today";

    public IReadOnlyList<Payment> Taken { get; private set; } = [];

    public IReadOnlyDictionary<Guid, long> Cash { get; private set; } = new Dictionary<Guid, long>();

    public IReadOnlyList<SelectListItem> Holders { get; private set; } = [];

    public IReadOnlyList<Debtor> Debtors { get; private set; } = [];

    public int AllDebtors { get; private set; }

    public long AllOwed { get; private set; }

    public string NameOf(Guid pupilId) => cards[pupilId].Name;

    public string HolderOf(Guid id) => id == Guid.Empty ? "The office" : names[id];

    public Task<IActionResult> OnGetAsync(CancellationToken cancel) => ShowAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return await ShowAsync(cancel);
        }

        var taken = await handIn.RunAsync(viewer, new() { InstructorId = Input.InstructorId, Pence = Input.Pence?.Pence }, cancel);
        if (!taken.Ok)
        {
            this.AddRefusal(taken.Refusal, nameof(Input));
            return await ShowAsync(cancel);
        }

        TempData["Done"] = "The cash is taken in.";
        return Redirect("/accounts#cash");
    }

    private async Task<IActionResult> ShowAsync(CancellationToken cancel)
    {
        Book = await shelf.FindAsync(cancel);
        if (Book is null)
        {
            return Page();
        }

        var today = (await school.GetAsync(cancel)).Today(clock);
        Date = Date == default ? today : Date;
        DayWords = Date == today ? "today" : $"on {ScreenWords.DayAndYear(Date)}";
        Taken = await money.TakenAsync(Book.Id, Date, cancel);
        Cash = await money.CashAsync(cancel);
        (Debtors, AllDebtors, AllOwed) = await money.DebtorsAsync(today, cancel);
        names = await instructors.NamesAsync(cancel);
        cards = await pupils.CardsAsync([.. Taken.Select(payment => payment.PupilId).Concat(Debtors.Select(debtor => debtor.PupilId)).Distinct()], cancel);
        Holders = [.. Cash.Where(cash => cash.Key != Guid.Empty).Select(cash => new SelectListItem($"{names[cash.Key]}, {ScreenWords.Money(cash.Value)}", cash.Key.ToString()))];
        return Page();
    }

    internal sealed class HandInForm
    {
        public Guid? InstructorId { get; init; }

        public Pounds? Pence { get; init; }
    }
}
