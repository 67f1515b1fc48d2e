namespace School.Core.Diary.TestDays;

/// <summary>How many faults a practical test ended with.</summary>
/// <param name="Driving">Driving faults: not dangerous in themselves; 0 or more.</param>
/// <param name="Serious">Serious faults: potentially dangerous; 0 or more.</param>
/// <param name="Dangerous">Dangerous faults: actual danger to somebody or something; 0 or more.</param>
/// <remarks>Meanings: readytopass.campaign.gov.uk/driving-test/driving-test-marking-faults-results, read 25 November 2026.</remarks>
public readonly record struct TestMarks(int Driving, int Serious, int Dangerous)
{
    /// <summary>Whether the number plate could not be read: that alone fails the test, and is no fault of driving.</summary>
    /// <remarks>Source: gov.uk, guidance for driving examiners (DT1), chapter 1.</remarks>
    public bool EyesightFailed { get; init; }

    /// <summary>Whether the pass rule is met: eyesight not failed, at most 15 driving faults, and neither a serious nor a dangerous one.</summary>
    public bool Pass => !EyesightFailed && Driving <= PracticalTest.MostDrivingFaults && Serious == 0 && Dangerous == 0;

    /// <summary>The sum of two.</summary>
    public static TestMarks operator +(TestMarks a, TestMarks b) => new(a.Driving + b.Driving, a.Serious + b.Serious, a.Dangerous + b.Dangerous)
    {
        EyesightFailed = a.EyesightFailed || b.EyesightFailed,
    };

    /// <summary>The sum of two.</summary>
    public static TestMarks Add(TestMarks a, TestMarks b) => a + b;
}

/// <summary>The faults under one heading of the marking sheet.</summary>
/// <param name="Heading">A code of <see cref="TestHeadings"/>.</param>
/// <param name="Marks">How many of each kind.</param>
public sealed record HeadingMarks(string Heading, TestMarks Marks);
