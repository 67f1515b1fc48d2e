using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Diary.Home;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>All lessons of one pupil: a pupil's own, or those of the pupil that staff ask for.</summary>
[Needs(Permission.SeeLessons)]
internal sealed class IndexModel(PupilLessons lessons, PupilBook pupils, OwnPupils own, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    private const int LastSheet = 1000;

    [BindProperty(SupportsGet = true)]
    public Guid? Pupil { get; set; }

    /// <summary>Which sheet of the earlier ones, from 1.</summary>
    [BindProperty(SupportsGet = true)]
    public int? Sheet { get; set; }

    public PupilCard For { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public Instant Now { get; private set; }

    public IReadOnlyList<LessonCard> Coming { get; private set; } = [];

    public EarlierLessons Earlier { get; private set; } = null!;

    /// <summary>Somebody else's pupil: of their lessons none but the viewer's own stand here.</summary>
    public bool TaughtElsewhere { get; private set; }

    public bool Staff => viewer.IsStaff;

    public int At => Math.Clamp(Sheet ?? 1, 1, LastSheet);

    public string Book => Staff ? $"/diary/book?pupil={For.Id}" : "/diary/book";

    public string SheetAddress(int sheet) => $"/diary/lessons?{(Staff ? $"pupil={For.Id}&" : "")}sheet={sheet}#earlier";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if ((Pupil ?? viewer.PupilId) is not { } pupilId)
        {
            return LocalRedirect("/");
        }

        if (await pupils.FindAsync(pupilId, viewer, cancel) is not { } pupil)
        {
            return NotFound();
        }

        (For, School, Now) = (pupil, await school.GetAsync(cancel), clock.GetCurrentInstant());
        TaughtElsewhere = await own.OfAsync(viewer, pupilId, cancel) != Sight.Everything;
        Coming = await lessons.ComingAsync(pupilId, viewer, cancel);
        Earlier = await lessons.EarlierAsync(pupilId, At, viewer, cancel);
        return Page();
    }
}
