using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.School;

[Needs(Permission.ManageSchool)]
internal sealed class IndexModel(SchoolDb db, SaveSchool save, Viewer viewer) : PageModel
{
    public static IReadOnlyList<SelectListItem> Nations { get; } =
        [new("England and Wales", "england-and-wales"), new("Scotland", "scotland"), new("Northern Ireland", "northern-ireland")];

    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public SchoolForm Input { get; set; } = new();

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var row = await db.Set<SchoolProfile>().AsNoTracking().SingleAsync(cancel);
        Version = row.Version;
        Input = new()
        {
            Name = row.Name,
            Phone = row.Phone.Length == 0 ? "" : Platform.Forms.Phone.Display(row.Phone),
            Email = row.Email,
            Zone = row.Zone,
            TwelveHourClock = row.TwelveHourClock,
            Nation = row.Nation,
            Terms = row.Terms,
        };
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var saved = await save.RunAsync(viewer, Input, Version, cancel);
            if (saved.Ok)
            {
                TempData["Done"] = "What you changed about the school is kept.";
                return RedirectToPage();
            }

            this.AddRefusal(saved.Refusal, nameof(Input));
        }

        return Page();
    }
}
