using Microsoft.AspNetCore.Mvc.ModelBinding;
using NodaTime;
using School.Web.Modules.School.Contracts;
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

    /// <summary>Whether a date may be one of this diary.</summary>
    public static bool IsNear(LocalDate date, LocalDate today) => date <= today.PlusDays(MostDaysAway) && date >= today.PlusDays(-MostDaysAway);

    /// <summary>The date that the address asks for, or today where it asks for none. An address that cannot be read says so, and means today.</summary>
    public static LocalDate ReadDate(this ModelStateDictionary state, LocalDate? asked, LocalDate today)
    {
        if (state.IsValid && IsNear(asked ?? today, today))
        {
            return asked ?? today;
        }

        state.Clear();
        state.AddModelError("", "This address is not quite right, so you see today.");
        return today;
    }

    /// <summary>Yesterday, today and tomorrow of a page about one date.</summary>
    public static Pager Days(LocalDate date, LocalDate today, Func<LocalDate, string> address) => new(
        "Day", new(address(date.PlusDays(-1)), ScreenWords.ShortDay(date.PlusDays(-1))), date == today ? null : new(address(today), "Today"),
        new(address(date.PlusDays(1)), ScreenWords.ShortDay(date.PlusDays(1))));
}
