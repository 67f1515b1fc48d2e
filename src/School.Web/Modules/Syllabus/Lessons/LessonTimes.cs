using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>Moments as the pages about one lesson show them.</summary>
internal static class LessonTimes
{
    /// <summary>“Tuesday 3 March”.</summary>
    public static string Day(this SchoolFacts school, Instant moment) => ScreenWords.Day(moment.InZone(school.Zone).Date);

    /// <summary>“10:00”.</summary>
    public static string Time(this SchoolFacts school, Instant moment) => ScreenWords.Time(moment.InZone(school.Zone).TimeOfDay, school.TwelveHourClock);

    /// <summary>“Tuesday 3 March, 10:00 to 11:00”.</summary>
    public static string When(this SchoolFacts school, Interval during) => $"{school.Day(during.Start)}, {school.Time(during.Start)} to {school.Time(during.End)}";

    /// <summary>“11:40 to 11:55, 13:35 to 13:50”: the rests within a lesson.</summary>
    public static string Rests(this SchoolFacts school, IEnumerable<Interval> rests) =>
        string.Join(", ", rests.Select(rest => $"{school.Time(rest.Start)} to {school.Time(rest.End)}"));
}
