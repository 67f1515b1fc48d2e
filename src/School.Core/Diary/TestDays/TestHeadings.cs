using School.Core.Diary.Slots;

namespace School.Core.Diary.TestDays;

/// <summary>A heading under which an examiner marks.</summary>
/// <param name="Code">Stable code for programs.</param>
/// <param name="Number">Its number on the form.</param>
/// <param name="Name">Its name.</param>
/// <param name="Part">The part of it, where it has parts.</param>
public sealed record TestHeading(string Code, string Number, string Name, string? Part = null)
{
    /// <summary>"Junctions: observation".</summary>
    public string Words => Part is null ? Name : $"{Name}: {Part}";
}

/// <summary>The headings of the marking sheet for car tests, in the order of the sheet.</summary>
/// <remarks>
/// Source: DVSA form DL25, whose headings live on in the digital test report; numbers, parts and order from memory. Numbers 3 and 6
/// (reversing left, turning in the road) are left out: no longer in car tests since 4 December 2017 (from memory).
/// What the examiner notes apart (ETA: examiner took action; eco-safe driving) is no fault and has no heading here.
/// </remarks>
public static class TestHeadings
{
    /// <summary>The eyesight test, which is passed or failed: never a fault of driving.</summary>
    /// <remarks>Source: gov.uk, guidance for driving examiners (DT1), chapter 1.</remarks>
    public const string Eyesight = "1a";

    /// <summary>The safety questions, of which one or both answered wrongly make one driving fault.</summary>
    /// <remarks>Source: readytopass.campaign.gov.uk/driving-test/what-happens-during-driving-test, read 25 November 2026.</remarks>
    public const string SafetyQuestions = "7";

    /// <summary>The most driving faults that the safety questions can make.</summary>
    public const int MostForSafetyQuestions = 1;

    /// <summary>All of them.</summary>
    public static IReadOnlyList<TestHeading> All { get; } =
    [
        .. Of("1a", "Eyesight test"),
        .. Of("2", "Controlled stop"),
        .. Of("4", "Reverse right", "control", "observation"),
        .. Of("5", "Reverse park", "control", "observation"),
        .. Of("7", "Vehicle checks"),
        .. Of("8", "Forward park", "control", "observation"),
        .. Of("11", "Precautions"),
        .. Of("12", "Control", "accelerator", "clutch", "gears", "footbrake", "parking brake", "steering"),
        .. Of("13", "Move off", "safety", "control"),
        .. Of("14", "Use of mirrors", "signalling", "change direction", "change speed"),
        .. Of("15", "Signals", "necessary", "correctly", "timed"),
        .. Of("16", "Clearance to obstructions"),
        .. Of("17", "Response to signs and signals", "traffic signs", "road markings", "traffic lights", "traffic controllers", "other road users"),
        .. Of("18", "Use of speed"),
        .. Of("19", "Following distance"),
        .. Of("20", "Progress", "appropriate speed", "undue hesitation"),
        .. Of("21", "Junctions", "approach speed", "observation", "turning right", "turning left", "cutting corners"),
        .. Of("22", "Judgement", "overtaking", "meeting", "crossing"),
        .. Of("23", "Positioning", "normal driving", "lane discipline"),
        .. Of("24", "Pedestrian crossings"),
        .. Of("25", "Position, normal stops"),
        .. Of("26", "Awareness and planning"),
        .. Of("27", "Ancillary controls"),
    ];

    private static readonly Dictionary<string, TestHeading> ByCode = All.ToDictionary(heading => heading.Code, StringComparer.Ordinal);

    /// <summary>The heading of a code, or null.</summary>
    public static TestHeading? Find(string code) => ByCode.GetValueOrDefault(code);

    private static IEnumerable<TestHeading> Of(string number, string name, params string[] parts) => parts.Length == 0
        ? [new(number, number, name)]
        : parts.Select(part => new TestHeading($"{number}-{part.Replace(' ', '-')}", number, name, part));
}
