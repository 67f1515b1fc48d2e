using NodaTime;
using NodaTime.Text;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Dates and times as the school writes them: its zone, its twelve- or twenty-four-hour clock.</summary>
internal static class LessonWords
{
    private static readonly LocalDatePattern ShortDay = LocalDatePattern.CreateWithInvariantCulture("ddd d MMM");

    /// <summary>"Tuesday 3 March".</summary>
    public static string Day(this SchoolFacts school, Instant moment) => ScreenWords.Day(moment.InZone(school.Zone).Date);

    /// <summary>"10:00" or "10:00 am".</summary>
    public static string Time(this SchoolFacts school, Instant moment) =>
        ScreenWords.Time(moment.InZone(school.Zone).TimeOfDay, school.TwelveHourClock);

    /// <summary>"Tuesday 3 March, 10:00 to 11:00".</summary>
    public static string When(this SchoolFacts school, Interval during) =>
        $"{school.Day(during.Start)}, {school.Time(during.Start)} to {school.Time(during.End)}";

    /// <summary>"11:40 to 11:55, 13:35 to 13:50": the rests within a lesson.</summary>
    public static string Rests(this SchoolFacts school, IEnumerable<Interval> rests) =>
        string.Join(", ", rests.Select(rest => $"{school.Time(rest.Start)} to {school.Time(rest.End)}"));

    /// <summary>"Monday 2 March, all day" or "Monday 2 March, 12:00 to Tuesday 3 March, 10:00".</summary>
    public static string Period(this SchoolFacts school, Interval period)
    {
        var (from, to) = (period.Start.InZone(school.Zone), period.End.InZone(school.Zone));
        var whole = from == school.Zone.AtStartOfDay(from.Date) && to == school.Zone.AtStartOfDay(to.Date);
        var endOfDay = to.TimeOfDay == LocalTime.Midnight && to.Date > from.Date;
        return whole ? Words.Span(from.Date, to.Date.PlusDays(-1)) + (from.Date == to.Date.PlusDays(-1) ? ", all day" : "")
            : from.Date == to.Date ? $"{ScreenWords.Day(from.Date)}, {ScreenTimes.Of(school, period)}"
            : $"{school.Moment(period.Start)} to {(endOfDay ? $"the end of {ScreenWords.Day(to.Date.PlusDays(-1))}" : school.Moment(period.End))}";
    }

    /// <summary>"Tuesday 3 March, 10:00".</summary>
    public static string Moment(this SchoolFacts school, Instant moment) => $"{school.Day(moment)}, {school.Time(moment)}";

    /// <summary>"Tue 3 Mar 10:00", for history lines.</summary>
    public static string Short(this SchoolFacts school, Instant moment) =>
        $"{ShortDay.Format(moment.InZone(school.Zone).Date)} {school.Time(moment)}";
}
