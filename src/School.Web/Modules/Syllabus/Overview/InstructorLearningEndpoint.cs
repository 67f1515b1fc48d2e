using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Overview;

internal sealed record SkillLevelJson(string Skill, SkillLevel Level, LocalDate LastOn);

internal sealed record OverviewPupilJson(
    Guid PupilId, string Name, int MinutesTaught, LocalDate? TestOn, IReadOnlyList<SkillLevelJson> Levels, IReadOnlyList<string> StaleSkills);

/// <summary>Pupils by level of a skill; what is missing from them has not started it. Minutes are null where nobody got there yet.</summary>
internal sealed record OverviewSkillJson(
    string Skill, string Name, string Group, int NotStarted, int Introduced, int Helped, int Prompted, int Independent, int Reflection,
    int? AverageMinutesToIndependent, int PupilsIndependent);

/// <summary>Official tests taken; low and high are the 95 % score interval of the pass rate, null without a test.</summary>
internal sealed record TestRateJson(int Taken, int Passed, double? Low, double? High);

internal sealed record InstructorLearningJson(
    Guid InstructorId, int StaleDays, IReadOnlyList<OverviewPupilJson> Pupils, IReadOnlyList<OverviewSkillJson> Skills, TestRateJson Tests);

internal static class InstructorLearningEndpoint
{
    public static void MapInstructorLearning(this IEndpointRouteBuilder app) =>
        app.MapApi("instructors").MapGet("{id:guid}/learning", GetAsync).Needs(Permission.SeeSyllabus).WithName("GetInstructorLearning")
            .WithSummary("How an instructor's pupils stand by skill, who has stale skills or a test ahead, hours to Independent, and the pass rate with its interval.")
            .Produces<InstructorLearningJson>().ProducesProblem(404);

    private static async Task<IResult> GetAsync(Guid id, InstructorLearningReader reader, InstructorBook instructors, Viewer viewer, CancellationToken cancel) =>
        (viewer.KeepsDiary || viewer.InstructorId == id) && await instructors.FindAsync(id, cancel) is not null
            ? Results.Ok(Shape(id, await reader.ReadAsync(id, cancel)))
            : Refusal.NotFound("instructor").ToProblem();

    private static InstructorLearningJson Shape(Guid id, InstructorLearning of) => new(
        id, of.StaleDays,
        [
            .. of.Pupils.Select(pupil => new OverviewPupilJson(
                pupil.Card.Id, pupil.Card.Name, pupil.Learning.MinutesTaught, pupil.TestOn,
                [.. pupil.Learning.Standings.Values.Select(standing => new SkillLevelJson(standing.Skill, standing.Level, standing.LastOn))],
                [.. pupil.Stale.Select(standing => standing.Skill)])),
        ],
        [
            .. from skills in of.Edition.Groups
               from skill in skills.Skills
               let hours = of.HoursToIndependent.GetValueOrDefault(skill.Key)
               select new OverviewSkillJson(
                   skill.Key, skill.Name, skills.Name, of.Count(skill.Key, null), of.Count(skill.Key, SkillLevel.Introduced), of.Count(skill.Key, SkillLevel.Helped),
                   of.Count(skill.Key, SkillLevel.Prompted), of.Count(skill.Key, SkillLevel.Independent), of.Count(skill.Key, SkillLevel.Reflection),
                   hours is null ? null : (int)Math.Round(hours.AverageMinutes), hours?.Pupils ?? 0),
        ],
        new(of.Rate.Taken, of.Rate.Passed, of.Rate.Interval?.Low, of.Rate.Interval?.High));
}
