using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.EntityFrameworkCore;
using School.Core.Diary;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.Settings;

/// <summary>The school's booking rules.</summary>
[Needs(Permission.ManageSchool), ShowsWhatStands]
internal sealed class SettingsModel(SchoolDb db, SaveDiarySettings save, Viewer viewer) : PageModel
{
    [BindProperty]
    public RulesInput Input { get; set; } = null!;

    /// <summary>The version that was opened; a change in between is told, not overwritten.</summary>
    [BindProperty]
    public int Version { get; set; }

    public static IReadOnlyList<SelectListItem> Tellings { get; } =
    [
        new("when somebody presses the button", nameof(LateTelling.Never)), new("also by itself, when the instructor tapped “Leaving now” too late", nameof(LateTelling.OnTheWay)),
        new("also by itself, when they have not tapped it by then", nameof(LateTelling.Always)),
    ];

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var row = await db.Set<DiarySettings>().AsNoTracking().SingleAsync(cancel);
        (Input, Version) = (RulesInput.Of(row.Rules), row.Version);
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return Page();
        }

        var outcome = await save.RunAsync(viewer, Input.ToRules(), Version, cancel);
        if (outcome.Ok)
        {
            TempData["Done"] = "Booking rules saved. They hold from now on; lessons they make impossible are on the attention list.";
            return LocalRedirect("/diary/settings");
        }

        this.AddRefusal(outcome.Refusal, outcome.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        return Page();
    }
}
