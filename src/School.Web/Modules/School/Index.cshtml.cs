using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.School;

[Needs(Permission.ManageSchool), ShowsWhatStands]
internal sealed class IndexModel(SchoolDb db, SaveSchool save, SchoolInfo school, Viewer viewer) : PageModel
{
    public static IReadOnlyList<SelectListItem> Nations { get; } =
        [new("England and Wales", "england-and-wales"), new("Scotland", "scotland"), new("Northern Ireland", NorthernIreland.Slug)];

    /// <summary>As it is kept, whatever the form says.</summary>
    public bool InNorthernIreland { get; private set; }

    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public SchoolForm Input { get; set; } = new();

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var row = await db.Set<SchoolProfile>().AsNoTracking().SingleAsync(cancel);
        (Version, InNorthernIreland) = (row.Version, row.Nation == NorthernIreland.Slug);
        Input = new()
        {
            Name = row.Name,
            Phone = row.Phone.Length == 0 ? "" : Platform.Forms.Phone.Display(row.Phone),
            Email = row.Email,
            Zone = row.Zone,
            TwelveHourClock = row.TwelveHourClock,
            Nation = row.Nation,
            Terms = row.Terms,
            PupilsBelongToInstructor = row.PupilsBelongToInstructor,
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

        InNorthernIreland = (await school.GetAsync(cancel)).InNorthernIreland;

        return Page();
    }
}
