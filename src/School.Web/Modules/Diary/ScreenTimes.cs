using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary;

/// <summary>Moments as the pages of the diary show them.</summary>
internal static class ScreenTimes
{
    // Far enough for any diary, near enough that no sum of days leaves the calendar.
    private const int MostDaysAway = 1500;

    /// <summary>"08:30–10:00".</summary>
    public static string Of(SchoolFacts school, Interval during) => ScreenWords.Times(
        during.Start.InZone(school.Zone).TimeOfDay, during.End.InZone(school.Zone).TimeOfDay, school.TwelveHourClock);

    /// <summary>The date asked for, or today where none was or it is no date of this diary.</summary>
    public static LocalDate DateOr(LocalDate? asked, LocalDate today) =>
        asked is { } date && date <= today.PlusDays(MostDaysAway) && date >= today.PlusDays(-MostDaysAway) ? date : today;

    /// <summary>Yesterday, today and tomorrow of a page about one date.</summary>
    public static Pager Days(LocalDate date, LocalDate today, Func<LocalDate, string> address) => new(
        "Day", new(address(date.PlusDays(-1)), ScreenWords.ShortDay(date.PlusDays(-1))), date == today ? null : new(address(today), "Today"),
        new(address(date.PlusDays(1)), ScreenWords.ShortDay(date.PlusDays(1))));
}
