using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>One lesson: for its pupil what to know and do, for staff also what was changed and what is to record.</summary>
[Needs(Permission.SeeLessons)]
internal sealed class DetailsModel(PupilLessons lessons, OwnPupils own, PictureLoader pictures, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    public LessonCard Card { get; private set; } = null!;

    public Lesson Lesson => Card.Lesson;

    public SchoolFacts School { get; private set; } = null!;

    public LessonTerms Terms { get; private set; } = null!;

    public LessonStateWords State { get; private set; } = null!;

    public string Day { get; private set; } = "";

    public IReadOnlyList<LessonChange> Changes { get; private set; } = [];

    public Viewer Viewer => viewer;

    public bool Ahead => Lesson.State == LessonState.Booked && !Terms.HasBegun;

    /// <summary>Whether it is one of a diary that they keep, and not their own lesson as a pupil.</summary>
    public bool MaySwap => viewer.May(Permission.DriveTheDay) && viewer.KeepsDiaryOf(Lesson.InstructorId);

    /// <summary>A weekly lesson with others after it that can be changed together.</summary>
    public bool MoreWeekly => Ahead && Lesson.SeriesId is not null;

    /// <summary>The sheet of a mock test stands open from the beginning of its lesson.</summary>
    public bool OpensMockSheet => Lesson.Kind == LessonKind.Mock && viewer.May(Permission.RecordLessons) && Terms.HasBegun
        && Lesson.State is LessonState.Booked or LessonState.Taught;

    public bool HasEnded => Lesson.EndsAt <= clock.GetCurrentInstant();

    public bool MayRecord => viewer.May(Permission.RecordLessons) && Terms.HasBegun && Lesson.State != LessonState.Cancelled;

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (await lessons.FindAsync(id, viewer, cancel) is not { } card)
        {
            return NotFound();
        }

        var now = clock.GetCurrentInstant();
        (Card, School) = (card with { Pupil = viewer.KeepsDiary ? card.Pupil : await own.OfAsync(viewer, card.Lesson, card.Pupil, cancel) }, await school.GetAsync(cancel));
        Terms = LessonTerms.Of(card.Lesson, await pictures.RulesAsync(cancel), viewer, now);
        Day = new LessonRow(card, School, now).Day;
        State = LessonStateWords.Of(card.Lesson, now);
        Changes = viewer.Towards(card.Lesson.PupilId).IsStaff ? await lessons.ChangesAsync(id, cancel) : [];
        return Page();
    }
}
