using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>Takes a payment, or pays back.</summary>
[Needs(Permission.TakeMoney)]
[OfPupil("id", Sight.ByReason)]
internal sealed class PayModel(PupilBook pupils, BookShelf shelf, Ledger ledger, TakePayment take, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty(SupportsGet = true)]
    public bool Back { get; set; }

    [BindProperty]
    public PayForm Input { get; set; } = new();

    public string Name { get; private set; } = "";

    public long Owed { get; private set; }

    public IReadOnlyList<SelectListItem> Methods { get; } =
    [
        new("Cash", nameof(PaymentMethod.Cash)), new("Card", nameof(PaymentMethod.Card)), new("Bank transfer", nameof(PaymentMethod.Transfer)),
        new("Another way", nameof(PaymentMethod.Other)),
    ];

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (await ReadAsync(cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        var due = Back ? -Owed : Owed;
        Input = new() { Id = RowId.New(), Pence = due > 0 ? new Pounds(due) : null, PaidOn = (await school.GetAsync(cancel)).Today(clock) };
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

        var taken = await take.RunAsync(viewer, Id, Input.Read() with { Back = Back }, cancel);
        if (!taken.Ok)
        {
            this.AddRefusal(taken.Refusal, nameof(Input));
            return Page();
        }

        TempData["Done"] = $"{ScreenWords.Money(Math.Abs(taken.Value.Pence))} {(Back ? "paid back" : "taken")}, receipt {taken.Value.Number}.";
        return Redirect($"/accounts/{Id}");
    }

    private async Task<IActionResult?> ReadAsync(CancellationToken cancel)
    {
        if (!(await pupils.CardsAsync([Id], cancel)).TryGetValue(Id, out var card) || (Back && !viewer.May(Permission.KeepBooks)))
        {
            return NotFound();
        }

        if (!await shelf.AreOpenAsync(cancel))
        {
            return Redirect($"/accounts/{Id}");
        }

        Name = card.Name;
        Owed = await ledger.OwedAsync(Id, cancel);
        return null;
    }

    internal sealed class PayForm
    {
        public Guid? Id { get; init; }

        public Pounds? Pence { get; init; }

        public PaymentMethod? Method { get; init; }

        public LocalDate? PaidOn { get; init; }

        public string? Reference { get; init; }

        public bool Again { get; init; }

        public PaymentInput Read() => new() { Id = Id, Pence = Pence?.Pence, Method = Method, PaidOn = PaidOn, Reference = Reference, Again = Again };
    }
}
