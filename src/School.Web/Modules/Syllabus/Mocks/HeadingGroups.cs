using School.Core.Diary.TestDays;
using School.Core.Syllabus.Mocks;

namespace School.Web.Modules.Syllabus.Mocks;

/// <summary>Headings that stand together on the page of a mock test; the order within is that of the marking sheet.</summary>
internal sealed record HeadingGroup(string Key, string Name, IReadOnlyList<TestHeading> Headings)
{
    /// <summary>Those under which most tests are failed, then every heading in its group.</summary>
    public static IReadOnlyList<HeadingGroup> All { get; } =
    [
        new("most", "Most often failed", MockMarking.MostFailed),
        Of("start", "Before driving, and the exercises", "1a", "2", "4", "5", "7", "8"),
        Of("control", "Control and moving off", "11", "12", "13", "27"),
        Of("mirrors", "Mirrors, signals and signs", "14", "15", "17"),
        Of("speed", "Speed, distance and planning", "18", "19", "20", "26"),
        Of("junctions", "Junctions and judgement", "21", "22"),
        Of("position", "Position and crossings", "16", "23", "24", "25"),
    ];

    private static HeadingGroup Of(string key, string name, params string[] numbers) =>
        new(key, name, [.. TestHeadings.All.Where(heading => numbers.Contains(heading.Number))]);
}
