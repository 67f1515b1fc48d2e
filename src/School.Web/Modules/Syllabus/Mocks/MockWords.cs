using School.Core.Diary.TestDays;
using School.Core.Syllabus.Mocks;

namespace School.Web.Modules.Syllabus.Mocks;

internal static class MockWords
{
    /// <summary>From so many under one heading: common practice, no source.</summary>
    private const int ManyTimes = 4;

    public static string Word(this FaultKind kind) => kind switch
    {
        FaultKind.Driving => "driving fault",
        FaultKind.Serious => "serious fault",
        FaultKind.Dangerous => "dangerous fault",
    };

    /// <summary>"4 driving, 0 serious, 0 dangerous".</summary>
    public static string Words(this TestMarks marks) =>
        $"{marks.Driving} driving, {marks.Serious} serious, {marks.Dangerous} dangerous{(marks.EyesightFailed ? ", eyesight failed" : "")}";

    /// <summary>Why the rule says no, or that it says yes.</summary>
    public static string Verdict(this TestMarks marks, bool soFar)
    {
        var (yes, no) = soFar ? ("Would pass so far", "Would not pass") : ("Passed by the rule", "Not passed");
        return marks.Pass ? yes
            : marks.EyesightFailed ? $"{no}: eyesight"
            : marks.Dangerous > 0 ? $"{no}: a dangerous fault"
            : marks.Serious > 0 ? $"{no}: a serious fault"
            : $"{no}: more than {PracticalTest.MostDrivingFaults} driving faults";
    }

    /// <summary>A word where the same driving fault comes again and again; null where none does.</summary>
    public static string? Repeated(MockTest mock) =>
        mock.Faults.Where(fault => fault.Kind is FaultKind.Driving && fault.Heading != TestHeadings.Eyesight).GroupBy(fault => fault.Heading).Where(same => same.Count() >= ManyTimes)
            .Select(same => same.Key).ToList() is { Count: > 0 } headings
            ? $"The same driving fault again and again can count as a serious one ({MockMarking.Source}): look at {string.Join("; ", headings.Select(code => TestHeadings.Find(code)!.Words))}."
            : null;

    public static string Address(Guid id) => $"/syllabus/mocks/{id}";
}
