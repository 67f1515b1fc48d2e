using School.Core.Diary;

namespace School.Web.Demo;

/// <summary>Which lessons of the invented pupils are not like any other.</summary>
internal static class DemoKinds
{
    /// <summary>Those near a test have a mock of it next week.</summary>
    private static readonly int[] NearTest = [4, 9, 16];

    /// <param name="pupil">Number of the pupil.</param>
    /// <param name="week">Weeks from this one.</param>
    public static LessonKind KindOf(int pupil, int week) => (pupil, week) switch
    {
        // Who drives again after years may go on the motorway from the first day.
        (DemoPapers.Refresher, -1 or 2) => LessonKind.Motorway,
        (DemoPapers.Refresher, _) => LessonKind.Refresher,
        (_, DemoDiary.LatestBegin) when pupil % 8 == DemoDiary.LateBeginner => LessonKind.Assessment,
        (_, 1) when NearTest.Contains(pupil) => LessonKind.Mock,
        _ => LessonKind.Standard,
    };
}
