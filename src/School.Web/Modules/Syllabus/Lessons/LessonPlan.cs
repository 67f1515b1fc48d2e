using NodaTime;
using School.Core;
using School.Core.Diary;
using School.Core.Syllabus;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>Why a skill stands in the plan.</summary>
internal enum PlanReason
{
    /// <summary>The aim agreed last time is about it.</summary>
    Agreed,
    Next,
    Working,
    Stale,
}

/// <summary>A skill that the syllabus suggests; no standing where it was never started.</summary>
internal sealed record PlannedSkill(Skill Skill, PlanReason Reason, SkillStanding? Standing)
{
    public string Why => Standing switch
    {
        null when Reason == PlanReason.Agreed => "agreed, not started yet",
        null => "not started yet",
        var standing when Reason == PlanReason.Agreed => $"agreed, {standing.Level}",
        var standing when Reason == PlanReason.Stale => $"{standing.Level}, last on {Platform.Layout.ScreenWords.Day(standing.LastOn)}",
        { WentDown: true } standing => $"{standing.Level}, down from {standing.Before}",
        { } standing => $"{standing.Level}",
    };
}

/// <summary>What a pupil brings to a lesson: all that was learned before it, the lesson before it, and what is suggested for it.</summary>
/// <param name="Learning">All that was learned before.</param>
/// <param name="Suggested">What the agreed aim is about first, then what the syllabus suggests.</param>
/// <param name="NotOnMotorway">Why this lesson cannot lawfully go on a motorway, where that would have been next or agreed; else null.</param>
internal sealed record LessonPlan(PupilLearning Learning, IReadOnlyList<PlannedSkill> Suggested, InputProblem? NotOnMotorway = null)
{
    /// <summary>The latest lesson after which somebody wrote something; null where nobody ever did.</summary>
    public LearnedLesson? Asked => Learning.Lessons.LastOrDefault(
        lesson => lesson.Lesson.Note.Length > 0 || lesson.Record is { Aim.Length: > 0 } or { Reflection.Length: > 0 });


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

    /// <param name="pupilId">Whose lesson.</param>
    /// <param name="startsAt">When it begins.</param>
    /// <param name="noMotorway">Why it cannot lawfully go on a motorway; null where it can.</param>
    /// <param name="cancel">Stops.</param>
    public async Task<LessonPlan> BeforeAsync(Guid pupilId, Instant startsAt, InputProblem? noMotorway, CancellationToken cancel)
    {
        var all = await learning.OfPupilAsync(pupilId, cancel);
        var before = new PupilLearning(pupilId, all.Edition, [.. all.Lessons.Where(lesson => lesson.Lesson.StartsAt < startsAt)]);
        var on = startsAt.InZone((await school.GetAsync(cancel)).Zone).Date;
        var plan = new LessonPlan(before, []);
        var staleDays = (await syllabus.SettingsAsync(cancel)).StaleDays;
        var suggested = Suggest(plan, before.Edition, on, staleDays).ToList();
        var forbidden = noMotorway is not null && suggested.Exists(planned => planned.Skill.Key == MotorwayRule.Skill);
        return plan with
        {
            Suggested = forbidden ? [.. Suggest(plan, WithoutMotorways(before.Edition), on, staleDays)] : suggested,
            NotOnMotorway = forbidden ? noMotorway : null,
        };
    }

    private static SyllabusEdition WithoutMotorways(SyllabusEdition edition) => edition with
    {
        Groups = [.. edition.Groups.Select(group => group with { Skills = [.. group.Skills.Where(skill => skill.Key != MotorwayRule.Skill)] })],
    };

    private static IEnumerable<PlannedSkill> Suggest(LessonPlan plan, SyllabusEdition edition, LocalDate on, int staleDays)
    {
        var standings = plan.Learning.Standings.Where(standing => edition.Find(standing.Key) is not null)
            .ToDictionary(standing => standing.Key, standing => standing.Value, StringComparer.Ordinal);
        var next = NextSkills.Of(edition, standings, on, staleDays);
        var agreed = plan.Asked?.Record is { Aim.Length: > 0 } asked ? AimSkill.Of(edition, asked.Aim) : null;
        // What was worked on last stands nearest.
        var working = next.Working.OrderByDescending(standing => standing.LastOn).Take(MostWorking).Select(standing => Planned(standing, PlanReason.Working));
        var stale = next.Stale.Where(standing => standing.Level >= NextSkills.Stands).Take(MostStale).Select(standing => Planned(standing, PlanReason.Stale));
        IEnumerable<PlannedSkill> suggested = working.Concat(next.Next is { } skill ? [new(skill, PlanReason.Next, null)] : []).Concat(stale);
        return agreed is null ? suggested
            : suggested.Where(planned => planned.Skill.Key != agreed.Key).Prepend(new(agreed, PlanReason.Agreed, standings.GetValueOrDefault(agreed.Key)));

        PlannedSkill Planned(SkillStanding standing, PlanReason reason) => new(edition.Find(standing.Skill)!, reason, standing);
    }
}
