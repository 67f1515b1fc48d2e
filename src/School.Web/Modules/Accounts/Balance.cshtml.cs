using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Accounts;

/// <summary>The trial balance of the school's books.</summary>
[Needs(Permission.KeepBooks)]
internal sealed class BalanceModel(BookShelf shelf, TrialBalance balance, SchoolInfo school, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public LocalDate At { get; set; }

    public IReadOnlyList<BalanceLine> Lines { get; private set; } = [];

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (await shelf.FindAsync(cancel) is not { } book)
        {
            return Redirect(BookShelf.Page);
        }

        At = At == default ? (await school.GetAsync(cancel)).Today(clock) : At;
        Lines = await balance.AtAsync(book.Id, At, cancel);
        return Page();
    }
}
