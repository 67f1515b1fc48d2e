using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Beside;

/// <summary>When and where the lessons of a pupil are who lets the viewer see that; to read, and nothing to press.</summary>
[Needs(Permission.SeeBeside)]
internal sealed class DetailsModel(BesideBook beside, PupilLessons lessons, TestDayReader tests, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    private const int LastSheet = 1000;

    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    /// <summary>Which sheet of the earlier ones, from 1.</summary>
    [BindProperty(SupportsGet = true)]
    public int? Sheet { get; set; }

    public PupilBeside For { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public Instant Now { get; private set; }

    public IReadOnlyList<LessonCard> Coming { get; private set; } = [];

    public IReadOnlyList<TestDay> Tests { get; private set; } = [];

    public EarlierLessons Earlier { get; private set; } = null!;

    public int At => Math.Clamp(Sheet ?? 1, 1, LastSheet);

    public LessonRow Row(LessonCard card) => new(card, School, Now) { Beside = true };

    public string SheetAddress(int sheet) => $"/diary/beside/{Id}?sheet={sheet}#earlier";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (await beside.FindAsync(viewer, Id, cancel) is not { Lessons: true } allowed)
        {
            return NotFound();
        }

        (For, School, Now) = (allowed, await school.GetAsync(cancel), clock.GetCurrentInstant());
        Coming = await lessons.ComingAsync(allowed, cancel);
        Earlier = await lessons.EarlierAsync(allowed, At, cancel);
        Tests = await tests.ComingAsync([allowed], cancel);
        return Page();
    }
}
