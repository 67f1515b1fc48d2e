using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Accounts;

/// <summary>What is asked for lessons that do not take place.</summary>
[Needs(Permission.KeepBooks)]
internal sealed class FeesModel(BookShelf shelf, ChangeFees change, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty]
    public FeeInput Input { get; set; } = new();

    public IReadOnlyList<FeeRow> Rows { get; private set; } = [];

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (!await ReadAsync(cancel))
        {
            return Redirect(BookShelf.Page);
        }

        var today = (await school.GetAsync(cancel)).Today(clock);
        Input = (Rows.FirstOrDefault(row => row.From <= today) is { } row ? FeeInput.Of(row.Policy()) : new()) with { From = today };
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!await ReadAsync(cancel))
        {
            return Redirect(BookShelf.Page);
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var changed = await change.RunAsync(viewer, Input, cancel);
        if (!changed.Ok)
        {
            this.AddRefusal(changed.Refusal, nameof(Input));
            return Page();
        }

        TempData["Done"] = "Saved.";
        return Redirect("/accounts/fees");
    }

    private async Task<bool> ReadAsync(CancellationToken cancel)
    {
        var book = await shelf.FindAsync(cancel);
        Rows = book is null ? [] : [.. book.Fees.OrderByDescending(row => row.From).ThenByDescending(row => row.Id)];
        return book is not null;
    }
}
