using NodaTime;
using School.Core.Syllabus;
using School.Web.Platform.Layout;
using School.Web.Platform.Layout.Strip;

namespace School.Web.Modules.Syllabus.Progress;

/// <summary>The syllabus drawn as a pupil's road: a stretch for every group, a stop for every skill.</summary>
internal static class ProgressStrip
{
    public const string NotStarted = "Not started";

    /// <param name="progress">Of one pupil.</param>
    /// <param name="leads">Whether each skill leads to its page.</param>
    public static RoadStrip Of(PupilProgress progress, bool leads = true) => new(
        "The syllabus in order, with the level of each skill",
        [.. progress.Lines.GroupBy(line => line.Group).SelectMany(group => group.Select(line => (RoadPart)Stop(progress, line, leads)).Prepend(new RoadStretch(group.Key!)))],
        Short: true);

    public static string Word(SkillLevel? level) => level is { } given ? given.ToString() : NotStarted;

    private static RoadStop Stop(PupilProgress progress, SkillLine line, bool leads) => new(line.Skill.Name, StopState.Ahead)
    {
        Href = !leads ? null : $"/syllabus/progress/{progress.Pupil.Id}/skills/{line.Skill.Key}",
        Level = new((int)(line.Level ?? 0), Word(line.Level)),
        Need = line.LastOn is { } on ? $"last on {Day(on, progress.Today)}" : null,
        Tags =
        [
            .. line.WentDown ? new[] { $"▼ was {Word(line.Before)}" } : [],
            .. line.Stale ? new[] { "▲ not lately" } : [],
        ],
    };

    private static string Day(LocalDate date, LocalDate today) => date.Year == today.Year ? ScreenWords.Day(date) : ScreenWords.DayAndYear(date);
}
