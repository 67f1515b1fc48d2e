namespace School.Web.Modules.Diary.TestDays;

internal static class TestDayWords
{
    /// <summary>The state in a word or two.</summary>
    public static string Of(TestDay test) => test.State switch
    {
        TestDayState.Booked => "Booked",
        TestDayState.Passed => "Passed",
        TestDayState.Failed => "Failed",
        TestDayState.TakenOff => "Off the diary",
    };

    public static string Address(Guid id) => $"/diary/test-days/{id}";
}
