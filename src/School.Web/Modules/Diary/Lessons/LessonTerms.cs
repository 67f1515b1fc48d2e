using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>What may still be done with a lesson, and what it costs to back out of it.</summary>
/// <param name="MayMove">The viewer may move it.</param>
/// <param name="MayCancel">The viewer may cancel it.</param>
/// <param name="FreeUntil">Until when its pupil backs out free of charge.</param>
/// <param name="FreeNow">Whether that moment is still ahead.</param>
/// <param name="HasBegun">Whether the lesson has begun.</param>
/// <param name="ShortNotice">"Booked" or "Moved" where that was done when the free time was already over; null otherwise.</param>
internal sealed record LessonTerms(bool MayMove, bool MayCancel, Instant FreeUntil, bool FreeNow, bool HasBegun, string? ShortNotice)
{
    public static LessonTerms Of(Lesson lesson, DiaryRules rules, Viewer viewer, Instant now)
    {
        var (open, staff) = (lesson.State == LessonState.Booked, viewer.Towards(lesson.PupilId).IsStaff);
        var ahead = lesson.StartsAt > now;
        var terms = rules.Charges();
        var (freeUntil, free) = (terms.FreeUntil(lesson.StartsAt), terms.IsFree(lesson.StartsAt, now));
        return new(
            MayMove: open && (staff || (ahead && free)),
            MayCancel: open && (staff || ahead),
            freeUntil,
            FreeNow: free,
            HasBegun: !ahead,
            ShortNotice: terms.IsFree(lesson.StartsAt, lesson.ChangedAt) ? null : lesson.Sequence > 0 ? "Moved" : "Booked");
    }

    /// <summary>The terms of a booked lesson ahead in one sentence.</summary>
    public string Sentence(SchoolFacts school, Viewer viewer)
    {
        var (who, by, whose) = viewer.IsStaff ? ("The pupil may move or cancel", "by the pupil ", "The pupil's time") : ("Move or cancel", "", "Your time");
        return FreeNow ? $"{who} free of charge until {school.Moment(FreeUntil)}."
            : ShortNotice is { } done ? $"{done} at short notice: cancelling {by}is charged."
            : $"{whose} to move or cancel free of charge ended on {school.Moment(FreeUntil)}.";
    }
}

/// <summary>The terms of a start that nobody has taken yet, told beside the button.</summary>
/// <param name="Sentence">The terms in words.</param>
/// <param name="Inside">Whether it lies inside the notice, so that backing out is charged from the beginning.</param>
internal sealed record StartTerms(string Sentence, bool Inside)
{
    public static StartTerms Of(Instant start, DiaryRules rules, SchoolFacts school, Viewer viewer, Instant now)
    {
        var terms = rules.Charges();
        var freeUntil = terms.FreeUntil(start);
        return (Inside: !terms.IsFree(start, now), viewer.IsStaff) switch
        {
            (true, true) => new("Inside the notice: cancelling by the pupil is charged.", true),
            (true, false) => new($"This is less than {Words.Count(rules.NoticeToMoveHours, "hour")} away: it cannot be moved here afterwards, and cancelling is charged.", true),
            (false, true) => new($"The pupil may move or cancel free of charge until {school.Moment(freeUntil)}.", false),
            (false, false) => new($"Move or cancel free of charge until {school.Moment(freeUntil)}; after that, cancelling is charged.", false),
        };
    }
}
