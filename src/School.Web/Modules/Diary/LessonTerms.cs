using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary;

/// <summary>What may still be done with a lesson, and what it costs to back out of it.</summary>
internal sealed record LessonTerms(bool MayMove, bool MayCancel, Instant FreeUntil, bool FreeNow, bool HasBegun)
{
    public static LessonTerms Of(Lesson lesson, DiaryRules rules, Viewer viewer, Instant now)
    {
        var open = lesson.State == LessonState.Booked;
        var ahead = lesson.StartsAt > now;
        var freeUntil = CancelPolicy.FreeUntil(lesson, rules);
        return new(
            MayMove: open && (viewer.IsStaff || (ahead && now <= freeUntil)),
            MayCancel: open && (viewer.IsStaff || ahead),
            freeUntil,
            FreeNow: now <= freeUntil,
            HasBegun: !ahead);
    }

    /// <summary>The cancellation terms of a lesson in one sentence.</summary>
    public static string Sentence(Instant start, DiaryRules rules, SchoolFacts school, Instant now)
    {
        var freeUntil = start - Duration.FromHours(rules.NoticeToMoveHours);
        return now <= freeUntil
            ? $"Move or cancel free of charge until {school.Moment(freeUntil)}; after that, cancelling is charged."
            : $"This is less than {Hours(rules.NoticeToMoveHours)} away: once booked it cannot be moved here, and cancelling is charged.";
    }

    private static string Hours(int hours) => hours == 1 ? "1 hour" : $"{hours} hours";
}
