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
    private const int UsualMinutes = 600;

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

        Input = new() { Id = RowId.New(), Minutes = UsualMinutes, Pence = Hour is { } hour ? new Pounds(hour * UsualMinutes / 60) : null };
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (await ReadAsync(cancel) is { } elsewhere)
        {
            return elsewhere;
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

        public int? Minutes { get; init; }

        public Pounds? Pence { get; init; }

        public bool AskedToBegin { get; init; }

        public bool FromBefore { get; init; }

        public BlockInput Read() => new() { Id = Id, Minutes = Minutes, Pence = Pence?.Pence, AskedToBegin = AskedToBegin, FromBefore = FromBefore };
    }
}
