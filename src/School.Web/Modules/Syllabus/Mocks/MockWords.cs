using School.Core.Diary.TestDays;
using School.Core.Syllabus.Mocks;

namespace School.Web.Modules.Syllabus.Mocks;

internal static class MockWords
{
    public static string Word(this FaultKind kind) => kind switch
    {
        FaultKind.Driving => "driving fault",
        FaultKind.Serious => "serious fault",
        FaultKind.Dangerous => "dangerous fault",
        _ => throw new ArgumentOutOfRangeException(nameof(kind)),
    };

    /// <summary>"4 driving, 0 serious, 0 dangerous".</summary>
    public static string Words(this TestMarks marks) => $"{marks.Driving} driving, {marks.Serious} serious, {marks.Dangerous} dangerous";

    /// <summary>Why the rule says no, or that it says yes.</summary>
    public static string Verdict(this TestMarks marks, bool soFar)
    {
        var (yes, no) = soFar ? ("Would pass so far", "Would not pass") : ("Passed by the rule", "Not passed");
        return marks.Pass ? yes
            : marks.Dangerous > 0 ? $"{no}: a dangerous fault"
            : marks.Serious > 0 ? $"{no}: a serious fault"
            : $"{no}: more than {PracticalTest.MostDrivingFaults} driving faults";
    }

    public static string Address(Guid id) => $"/syllabus/mocks/{id}";
}
