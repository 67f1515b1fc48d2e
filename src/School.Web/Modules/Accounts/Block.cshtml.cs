using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Core.Accounts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>Sells prepaid hours.</summary>
[Needs(Permission.TakeMoney)]
[OfPupil("id", Sight.ByReason)]
internal sealed class BlockModel(PupilBook pupils, BookShelf shelf, SellBlock sell, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    private const int UsualHours = 10;

    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty]
    public BlockForm Input { get; set; } = new();

    public string Name { get; private set; } = "";

    public bool Keeps => viewer.May(Permission.KeepBooks);

    public long? Hour { get; private set; }

    public bool Revalued { get; private set; }

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (await ReadAsync(cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        Input = new() { Id = RowId.New(), Hours = UsualHours, Pence = Hour is { } hour ? new Pounds(hour * UsualHours) : null };
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (await ReadAsync(cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        if (ModelState.IsValid && Input.Minutes is null)
        {
            ModelState.AddModelError("Input.Hours", "Enter hours, or quarters of one, such as 10 or 7.5.");
            if (Input.Pence is null)
            {
                ModelState.AddModelError("Input.Pence", "Enter what they cost together.");
            }
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var sold = await sell.RunAsync(viewer, Id, Input.Read(), cancel);
        if (!sold.Ok)
        {
            this.AddRefusal(sold.Refusal, nameof(Input));
            return Page();
        }

        TempData["Done"] = $"{ScreenWords.Length(sold.Value.Minutes)} {(sold.Value.FromBefore ? "entered" : "sold")}.";
        return Redirect(sold.Value.FromBefore ? $"/accounts/{Id}" : $"/accounts/{Id}/pay");
    }

    private async Task<IActionResult?> ReadAsync(CancellationToken cancel)
    {
        if (!(await pupils.CardsAsync([Id], cancel)).TryGetValue(Id, out var card))
        {
            return NotFound();
        }

        if (await shelf.FindAsync(cancel) is not { } book)
        {
            return Redirect($"/accounts/{Id}");
        }

        Name = card.Name;
        Hour = book.HourOn((await school.GetAsync(cancel)).Today(clock));
        Revalued = book.RefundRule == RefundRule.Revalued;
        return null;
    }

    internal sealed class BlockForm
    {
        public Guid? Id { get; init; }

        public decimal? Hours { get; init; }

        /// <summary>Null where that is no number of quarters that can be sold.</summary>
        public int? Minutes => Hours is { } hours && hours * 4 == decimal.Truncate(hours * 4) && hours * 60 is >= Block.ShortestMinutes and <= Block.LongestMinutes ? (int)(hours * 60) : null;

        public Pounds? Pence { get; init; }

        public bool AskedToBegin { get; init; }

        public bool FromBefore { get; init; }

        public BlockInput Read() => new() { Id = Id, Minutes = Minutes, Pence = Pence?.Pence, AskedToBegin = AskedToBegin, FromBefore = FromBefore };
    }
}
