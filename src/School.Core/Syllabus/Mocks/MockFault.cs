using School.Core.Diary.TestDays;

namespace School.Core.Syllabus.Mocks;

/// <summary>How grave a fault is.</summary>
/// <remarks>Meanings: readytopass.campaign.gov.uk/driving-test/driving-test-marking-faults-results, read 25 November 2026.</remarks>
public enum FaultKind
{
    /// <summary>Not dangerous in itself; repeated, it can become serious.</summary>
    Driving,

    /// <summary>Potentially dangerous.</summary>
    Serious,

    /// <summary>Actual danger to somebody or something.</summary>
    Dangerous,
}

/// <summary>One fault of a mock test.</summary>
/// <param name="Heading">A code of <see cref="TestHeadings"/>.</param>
/// <param name="Kind">How grave.</param>
public readonly record struct MockFault(string Heading, FaultKind Kind)
{
    /// <summary>What it counts by itself. Under eyesight that is no fault, whatever its kind, but the test is failed.</summary>
    public TestMarks Marks => Heading == TestHeadings.Eyesight ? new() { EyesightFailed = true } : Kind switch
    {
        FaultKind.Driving => new(1, 0, 0),
        FaultKind.Serious => new(0, 1, 0),
        FaultKind.Dangerous => new(0, 0, 1),
    };
}
