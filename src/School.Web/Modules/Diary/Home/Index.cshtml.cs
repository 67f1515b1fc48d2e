using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.Swaps;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Home;

/// <summary>A pupil's first page: the next lesson and what may be done with it.</summary>
[Needs(Permission.SeeLessons)]
internal sealed class IndexModel(
    SchoolDb db, PupilLessons lessons, WaitingReader waiting, TestDayReader tests, PupilBook pupils, PictureLoader pictures, SchoolInfo school, Viewer viewer,
    IClock clock) : PageModel
{
    private const int Following = 4;

    public PupilCard Pupil { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public Instant Now { get; private set; }

    public Viewer Viewer => viewer;

    public LessonCard? Next { get; private set; }

    /// <summary>How late the next lesson starts, where the pupil was told so.</summary>
    public LateNote? Late { get; private set; }

    public LessonTerms? Terms { get; private set; }

    /// <summary>The next test that is ahead or waits for its result.</summary>
    public TestDayCard? Test { get; private set; }

    public IReadOnlyList<LessonCard> Then { get; private set; } = [];

    /// <summary>Booked lessons beyond those shown.</summary>
    public int More { get; private set; }

    /// <summary>Times that the pupil may have now.</summary>
    public IReadOnlyList<OfferedSlot> Offers { get; private set; } = [];

    /// <summary>Swaps that wait for the pupil's answer.</summary>
    public IReadOnlyList<SwapAnswer> Swaps { get; private set; } = [];

    public LessonCard? LastNote { get; private set; }

    /// <summary>What would keep the pupil from the next lesson, and where the rule stands.</summary>
    public IReadOnlyList<Notice> Notices { get; private set; } = [];

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        Func<PupilCard?> find = () => null;
        Rows<SwapAnswer>? asked = null;
        await pictures.AheadAsync(cancel, Standing.Rules | Standing.Cars, together =>
        {
            if (viewer.PupilId is { } id)
            {
                find = pupils.Find(together, id, viewer);
                asked = together.Ask(db.Set<SwapAnswer>().AsNoTracking().Where(a => a.PupilId == id && a.Open && a.Reply == SwapReply.None));
            }
        });
        if (viewer.PupilId is not { } pupilId || find() is not { } pupil)
        {
            return viewer.IsStaff ? LocalRedirect("/") : NotFound();
        }

        (Pupil, School, Now) = (pupil, await school.GetAsync(cancel), clock.GetCurrentInstant());
        Swaps = [.. asked!.All.Where(a => a.LapsesAt > Now)];
        var coming = await lessons.ComingAsync(pupilId, viewer, cancel);
        Next = coming.Count == 0 ? null : coming[0];
        Terms = Next is null ? null : LessonTerms.Of(Next.Lesson, await pictures.RulesAsync(cancel), viewer, Now);
        if (Next is { Lesson: var next })
        {
            var note = await db.Set<LateNote>().AsNoTracking().SingleOrDefaultAsync(n => n.LessonId == next.Id, cancel);
            Late = note?.AppliesTo(next) == true ? note : null;
        }

        Then = [.. coming.Skip(1).Take(Following)];
        More = Math.Max(0, coming.Count - 1 - Following);
        LastNote = await lessons.LastNoteAsync(pupilId, viewer, cancel);
        Test = (await tests.ComingAsync(pupilId, viewer, cancel)) is [var test, ..] ? test : null;
        Offers = await waiting.OpenOffersAsync(viewer, cancel);
        Notices = [.. Read()];
        return Page();
    }

    private IEnumerable<Notice> Read()
    {
        var date = (Next?.Lesson.StartsAt ?? Now).InZone(School.Zone).Date;
        foreach (var block in Eligibility.Of(Pupil.Learner(date) with { RetiredOn = null }, date, Now.InZone(School.Zone).Date))
        {
            // With a lesson that stands already it is no matter of booking any more.
            yield return new(Next is not null && block.IsOnlyUnseen && Pupil.BeforeDriving.SeenFirst() is { } first ? first.ToPupil : block.Telling.ToPupil, block.Stops, $"{block.Source}, {ScreenWords.DayAndYear(block.SourceDate)}");
        }
    }

    internal sealed record Notice(string Words, bool Stops, string Source);
}
