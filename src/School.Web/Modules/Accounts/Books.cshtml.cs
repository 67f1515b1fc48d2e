using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Core.Accounts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Accounts;

/// <summary>Opens the books, once.</summary>
[Needs(Permission.KeepBooks)]
internal sealed class BooksModel(BookShelf shelf, OpenBooks open, Viewer viewer) : PageModel
{
    [BindProperty]
    public BooksForm Input { get; set; } = new();

    public Book? Book { get; private set; }

    public IReadOnlyList<SelectListItem> Rules { get; } =
    [
        new("In proportion to what is left", nameof(RefundRule.ProRata)),
        new("The price less what was used, counted as single lessons", nameof(RefundRule.Revalued)),
    ];

    public async Task OnGetAsync(CancellationToken cancel) => Book = await shelf.FindAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return Page();
        }

        var opened = await open.RunAsync(viewer, Input.Read(), cancel);
        if (!opened.Ok)
        {
            this.AddRefusal(opened.Refusal, nameof(Input));
            return Page();
        }

        TempData["Done"] = "The books are open. Next: write the terms that say what a late cancellation costs.";
        return LocalRedirect("/accounts/terms");
    }

    internal sealed class BooksForm
    {
        public Pounds? PencePerHour { get; init; }

        public int LatePercent { get; init; } = 100;

        public int LateMovePercent { get; init; }

        public int MissedPercent { get; init; } = 100;

        public int FreeAYear { get; init; } = 1;

        public bool NeedsReminder { get; init; } = true;

        public LocalDate? VatFrom { get; init; }

        public RefundRule RefundRule { get; init; }

        public BooksInput Read() => new()
        {
            PencePerHour = PencePerHour?.Pence,
            LatePercent = LatePercent,
            LateMovePercent = LateMovePercent,
            MissedPercent = MissedPercent,
            FreeAYear = FreeAYear,
            NeedsReminder = NeedsReminder,
            VatFrom = VatFrom,
            RefundRule = RefundRule,
        };
    }
}
