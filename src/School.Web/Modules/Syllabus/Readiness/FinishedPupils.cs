using NodaTime;
using School.Core.Syllabus.Readiness;
using School.Web.Modules.Diary.Contracts;

namespace School.Web.Modules.Syllabus.Readiness;

/// <summary>A pupil who passed, with the course up to the test.</summary>
internal sealed record FinishedPupil(Guid PupilId, LocalDate PassedOn, Course Course);

/// <summary>The latest finished pupils, and what was last made of them, which is the same as long as they and the terms are.</summary>
internal sealed class FinishedPupils(IReadOnlyList<(PassedTest Test, LearnedCourse Course)> of, DateTimeZone zone)
{
    private volatile Reckoned? _reckoned;

    /// <summary>In the order in which they passed; those without a lesson are left out.</summary>
    public IReadOnlyList<FinishedPupil> Pupils { get; } =
    [
        .. from one in of
           let day = one.Test.StartsAt.InZone(zone).Date
           let course = one.Course.Until(one.Test.StartsAt, day)
           where course.Lessons.Count > 0
           select new FinishedPupil(one.Test.PupilId, day, course),
    ];

    /// <summary>Whether it is of these very courses: one that has changed is another object.</summary>
    public bool IsOf(IReadOnlyList<(PassedTest Test, LearnedCourse Course)> others, DateTimeZone othersZone) =>
        zone.Equals(othersZone) && of.Count == others.Count && of.Zip(others).All(pair => pair.First.Test == pair.Second.Test && ReferenceEquals(pair.First.Course, pair.Second.Course));

    /// <summary>What each teaches; null where it teaches nothing.</summary>
    public IReadOnlyList<FinishedCourse?> Lessons(ReadinessTerms terms) => Of(terms).Lessons.Value;

    public IReadOnlyList<BacktestPoint> Backtest(ReadinessTerms terms) => Of(terms).Points.Value;

    private Reckoned Of(ReadinessTerms terms)
    {
        if (_reckoned is { } known && known.Terms.PracticeWeight.Equals(terms.PracticeWeight) && known.Terms.Skills.SetEquals(terms.Skills))
        {
            return known;
        }

        return _reckoned = new(
            terms, new(() => [.. Pupils.Select(pupil => FinishedCourse.Of(pupil.Course, terms))]),
            new(() => Core.Syllabus.Readiness.Backtest.Of([.. Pupils.Select(pupil => pupil.Course)], terms)));
    }

    private sealed record Reckoned(ReadinessTerms Terms, Lazy<IReadOnlyList<FinishedCourse?>> Lessons, Lazy<IReadOnlyList<BacktestPoint>> Points);
}
