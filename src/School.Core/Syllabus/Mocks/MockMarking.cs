using School.Core.Diary.TestDays;

namespace School.Core.Syllabus.Mocks;

/// <summary>Counts a mock test as an official one is counted. The result follows from <see cref="TestMarks.Pass"/>.</summary>
public static class MockMarking
{
    /// <summary>Where the pass rule and the count of the safety questions stand.</summary>
    public const string Source =
        "readytopass.campaign.gov.uk/driving-test, pages on the marking and on what happens during the test, read 25 November 2026";

    /// <summary>How many safety questions are asked, and so how many can be answered wrongly: one "tell me", one "show me".</summary>
    /// <remarks>Source: readytopass.campaign.gov.uk/driving-test/what-happens-during-driving-test, read 25 November 2026.</remarks>
    public const int SafetyQuestions = 2;

    private static readonly string[] MostFailedCodes =
    [
        "21-observation", "14-change-direction", "13-safety", "21-turning-right", "12-steering", "17-traffic-lights", "17-traffic-signs",
        "23-normal-driving", "17-road-markings", "13-control",
    ];

    /// <summary>Headings under which most tests are failed, most often first.</summary>
    /// <remarks>
    /// The first seven in the order of readytopass.campaign.gov.uk, read 25 November 2026; the eighth stands there too, its place from
    /// memory; the last two from memory.
    /// </remarks>
    public static IReadOnlyList<TestHeading> MostFailed { get; } = [.. MostFailedCodes.Select(code => TestHeadings.Find(code)!)];

    /// <summary>The faults by heading, in the order of the marking sheet; headings without a fault are left out.</summary>
    /// <exception cref="ArgumentException">A heading is not on the sheet.</exception>
    public static IReadOnlyList<HeadingMarks> ByHeading(IEnumerable<MockFault> faults)
    {
        ArgumentNullException.ThrowIfNull(faults);
        var found = faults.GroupBy(fault => fault.Heading, StringComparer.Ordinal).ToDictionary(
            group => group.Key, group => Counted(group.Key, group.Aggregate(default(TestMarks), (sum, fault) => sum + fault.Marks)), StringComparer.Ordinal);
        return found.Keys.FirstOrDefault(code => TestHeadings.Find(code) is null) is { } unknown
            ? throw new ArgumentException($"There is no heading {unknown} on the marking sheet.", nameof(faults))
            : [.. TestHeadings.All.Where(heading => found.ContainsKey(heading.Code)).Select(heading => new HeadingMarks(heading.Code, found[heading.Code]))];
    }

    /// <summary>All faults together; the safety questions count one driving fault at most, also when both were answered wrongly.</summary>
    public static TestMarks Sum(IEnumerable<MockFault> faults) => ByHeading(faults).Aggregate(default(TestMarks), (sum, heading) => sum + heading.Marks);

    private static TestMarks Counted(string heading, TestMarks marks) => heading == TestHeadings.SafetyQuestions
        ? marks with { Driving = Math.Min(marks.Driving, TestHeadings.MostForSafetyQuestions) }
        : marks;
}
