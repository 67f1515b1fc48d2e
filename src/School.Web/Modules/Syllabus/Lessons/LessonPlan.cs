using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>Why a skill stands in the plan.</summary>
internal enum PlanReason
{
    Next,
    Working,
    Stale,
}

/// <summary>A skill that the syllabus suggests; no standing where it was never started.</summary>
internal sealed record PlannedSkill(Skill Skill, PlanReason Reason, SkillStanding? Standing)
{
    public string Why => Standing switch
    {
        null => "not started yet",
        var standing when Reason == PlanReason.Stale => $"{standing.Level}, last on {Platform.Layout.ScreenWords.Day(standing.LastOn)}",
        { WentDown: true } standing => $"{standing.Level}, down from {standing.Before}",
        { } standing => $"{standing.Level}",
    };
}

/// <summary>What a pupil brings to a lesson: all that was learned before it, the lesson before it, and what the syllabus suggests.</summary>
internal sealed record LessonPlan(PupilLearning Learning, IReadOnlyList<PlannedSkill> Suggested)
{
    /// <summary>The taught lesson before this one; null before the first.</summary>
    public LearnedLesson? Last => Learning.Lessons.Count > 0 ? Learning.Lessons[^1] : null;

    /// <summary>Where the pupil stood with a skill.</summary>
    public SkillLevel? LevelOf(string skill) => Learning.Standings.TryGetValue(skill, out var standing) ? standing.Level : null;
}

/// <summary>Works out what the syllabus suggests for a lesson.</summary>
internal sealed class LessonPlanner(LearningReader learning, SyllabusBook syllabus, SchoolInfo school)
{
    // More than can be taught in a lesson helps nobody to choose: common practice, no source.
    private const int MostWorking = 2;
    private const int MostStale = 1;

    public async Task<LessonPlan> BeforeAsync(Guid pupilId, Instant startsAt, CancellationToken cancel)
    {
        var all = await learning.OfPupilAsync(pupilId, cancel);
        var before = new PupilLearning(pupilId, all.Edition, [.. all.Lessons.Where(lesson => lesson.Lesson.StartsAt < startsAt)]);
        var on = startsAt.InZone((await school.GetAsync(cancel)).Zone).Date;
        return new(before, [.. Suggest(before, on, (await syllabus.SettingsAsync(cancel)).StaleDays)]);
    }

    private static IEnumerable<PlannedSkill> Suggest(PupilLearning before, LocalDate on, int staleDays)
    {
        var next = NextSkills.Of(before.Edition, before.Standings, on, staleDays);
        // What was worked on last stands nearest.
        var working = next.Working.OrderByDescending(standing => standing.LastOn).Take(MostWorking).Select(standing => Planned(standing, PlanReason.Working));
        var stale = next.Stale.Where(standing => standing.Level >= NextSkills.Stands).Take(MostStale).Select(standing => Planned(standing, PlanReason.Stale));
        return working.Concat(next.Next is { } skill ? [new(skill, PlanReason.Next, null)] : []).Concat(stale);

        PlannedSkill Planned(SkillStanding standing, PlanReason reason) => new(before.Edition.Find(standing.Skill)!, reason, standing);
    }
}
