using NodaTime;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>A lesson as one line of a list.</summary>
internal sealed record LessonRow(LessonCard Card, SchoolFacts School, Instant Now)
{
    /// <summary>As somebody beside the pupil sees it: nothing of charges, and it leads to no page.</summary>
    public bool Beside { get; init; }

    public LessonStateWords State => LessonStateWords.Of(Card.Lesson, Now, withCharge: !Beside);

    /// <summary>With the year where it is not this one.</summary>
    public string Day
    {
        get
        {
            var date = Card.Lesson.StartsAt.InZone(School.Zone).Date;
            return date.Year == Now.InZone(School.Zone).Year ? School.Day(Card.Lesson.StartsAt) : Platform.Layout.ScreenWords.DayAndYear(date);
        }
    }
}
