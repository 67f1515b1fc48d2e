using Microsoft.AspNetCore.Mvc;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

[Needs(Permission.BookLessons)]
internal sealed class MoveModel(
    FreeTimes times, PupilLessons lessons, PictureLoader pictures, InstructorBook instructors, SchoolInfo school, Viewer viewer, IClock clock)
    : TimesPage(instructors, viewer)
{
    public LessonCard Card { get; private set; } = null!;

    public DiaryRules Rules { get; private set; } = null!;

    public LessonTerms Terms { get; private set; } = null!;

    public string? Closed { get; private set; }

    private string Address => LessonLinks.Of(Card.Lesson.Id);

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (await lessons.FindAsync(id, Viewer, cancel) is not { } card)
        {
            return NotFound();
        }

        (Card, School, Rules) = (card, await school.GetAsync(cancel), await pictures.RulesAsync(cancel));
        var lesson = card.Lesson;
        Terms = LessonTerms.Of(lesson, Rules, Viewer, clock.GetCurrentInstant());
        if (!Terms.MayMove)
        {
            Closed = lesson.NotOpen("moved")?.For(Viewer);
            return Page();
        }

        var teacher = await ReadTeacherAsync(lesson.InstructorId, i => i.Facts.Teaches.Contains(card.Pupil.Gearbox), cancel);
        if (ReadTyped() is { } typed)
        {
            return Redirect(Check(typed, teacher ?? lesson.InstructorId));
        }

        // The lesson's own week first; one that is past gives way to the first that can be had.
        var date = lesson.StartsAt.InZone(School.Zone).Date;
        var from = ReadFrom() ?? date.PlusDays(1 - (int)date.DayOfWeek);
        var week = await times.WeekAsync(SlotQuestion.ToMove(lesson, from) with { InstructorId = teacher }, Viewer, cancel);
        if (!week.Ok)
        {
            this.AddRefusal(week.Refusal);
            return Page();
        }

        Week = week.Value;
        return Page();
    }

    public override string Here(SlotQuestion question) => $"{Address}/move?with={WithWords(question.InstructorId)}&from={question.From:uuuu-MM-dd}";

    public override string Check(OfferedTime time) => Check(time.During.Start, time.InstructorId);

    private string Check(Instant start, Guid instructorId) => $"{Address}/move/check?start={StartText.Of(start)}&with={instructorId}";
}
