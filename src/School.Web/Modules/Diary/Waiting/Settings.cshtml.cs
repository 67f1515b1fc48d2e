using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.EntityFrameworkCore;
using School.Core.Diary.Slots;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Waiting;

[Needs(Permission.ManageSchool)]
internal sealed class WaitingSettingsModel(SchoolDb db, SaveWaitingSettings save, Viewer viewer) : PageModel
{
    [BindProperty]
    public WaitingRules Input { get; set; } = new();

    [BindProperty]
    public int RowVersion { get; set; }

    public static IReadOnlyList<SelectListItem> Orders { get; } =
        [new("Who has waited longest", nameof(FairOrder.LongestWaiting)), new("Who had fewest lessons lately", nameof(FairOrder.FewestLessons))];

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var row = await db.Set<WaitingSettings>().AsNoTracking().SingleAsync(cancel);
        (Input, RowVersion) = (row.ToRules(), row.Version);
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return Page();
        }

        var saved = await save.RunAsync(viewer, Input, RowVersion, cancel);
        if (saved.Ok)
        {
            TempData["Done"] = "Saved. It holds for offers made from now on.";
            return LocalRedirect("/diary/waiting/settings");
        }

        this.AddRefusal(saved.Refusal, saved.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        return Page();
    }
}
