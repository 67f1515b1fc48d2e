using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Accounts;

/// <summary>What a pupil owes and has left who lets the viewer see that; to read, and nothing to press.</summary>
[Needs(Permission.SeeBeside)]
internal sealed class BesideModel(BesideBook beside, AccountReader reader, SchoolInfo school, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty(SupportsGet = true)]
    public int Sheet { get; set; } = 1;

    public string Name { get; private set; } = "";

    public AccountView? View { get; private set; }

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (await beside.FindAsync(viewer, Id, cancel) is not { Money: true } allowed)
        {
            return NotFound();
        }

        Name = allowed.Name;
        Sheet = Math.Clamp(Sheet, 1, 10_000);
        View = await reader.FindAsync(Id, Sheet, cancel) is { } account
            ? new(Id, account, await school.GetAsync(cancel), Sheet, $"/accounts/beside/{Id}", Viewer.Nobody) : null;
        return Page();
    }
}
