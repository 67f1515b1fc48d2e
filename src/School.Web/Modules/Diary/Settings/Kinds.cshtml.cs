using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Core.Diary;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.Settings;

/// <summary>What the school calls its kinds of lesson, how long they last and who may book them.</summary>
[Needs(Permission.ManageSchool), ShowsWhatStands]
internal sealed class KindsModel(SchoolDb db, SaveLessonKinds save, Viewer viewer) : PageModel
{
    [BindProperty]
    public IReadOnlyList<KindInput> Items { get; set; } = [];

    /// <summary>The version that was opened; a change in between is told, not overwritten.</summary>
    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public bool LessonsAheadStay { get; set; }

    /// <summary>Whether lessons ahead stand in the way, so that the office says what becomes of them.</summary>
    public bool AsksAboutLessons { get; private set; }

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var row = await db.Set<DiarySettings>().AsNoTracking().SingleAsync(cancel);
        Items = [.. Enum.GetValues<LessonKind>().Select(kind => KindInput.Of(row.Rules.KindOf(kind)))];
        Version = row.Version;
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return Page();
        }

        var outcome = await save.RunAsync(viewer, new(Items, LessonsAheadStay), Version, cancel);
        if (outcome.Ok)
        {
            TempData["Done"] = "Kinds of lesson saved. They hold for what is booked from now on.";
            return LocalRedirect("/diary/kinds");
        }

        AsksAboutLessons = outcome.Refusal.Code == "kind_has_lessons";
        this.AddRefusal(outcome.Refusal);
        return Page();
    }
}
