using School.Core.Diary.TestDays;

namespace School.Web.Modules.Diary.TestDays;

internal static class TestDayWords
{
    /// <summary>The state in a word or two.</summary>
    public static string Of(TestDay test) => test.State switch
    {
        TestDayState.Booked => "Booked",
        TestDayState.Passed => "Passed",
        TestDayState.Failed => test.Ending switch
        {
            TestEnding.Stopped => "Stopped by the examiner",
            TestEnding.EyesightFailed => "Eyesight failed",
            _ => "Failed",
        },
        TestDayState.TakenOff => test.Ending switch
        {
            TestEnding.NotConducted => "Not conducted",
            TestEnding.CancelledByAgency => "Cancelled by the agency",
            _ => "Off the diary",
        },
    };

    /// <summary>"passed, 4 driving faults, 0 serious and 0 dangerous", "not conducted": how it ended, for a line of history.</summary>
    public static string Result(TestEnding ending, bool passed, TestMarks sum) => ending switch
    {
        TestEnding.Completed => $"{(passed ? "passed" : "failed")}, {TestResultReading.Words(sum)}",
        TestEnding.Stopped => $"stopped by the examiner, {TestResultReading.Words(sum)}",
        TestEnding.EyesightFailed => "failed at the eyesight test",
        TestEnding.NotConducted => "not conducted",
        TestEnding.CancelledByAgency => "cancelled by the agency",
    };

    public static string Address(Guid id) => $"/diary/test-days/{id}";
}
