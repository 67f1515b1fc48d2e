using System.Globalization;
using NodaTime;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;
using School.Web.Platform.Layout.Time;

namespace School.Web.Modules.Diary.Hours;

/// <summary>The weeks ahead of one instructor as they come of hours and time off: a week a row, a weekday a column.</summary>
internal static class HoursView
{
    private const int Weeks = 4;
    private const int DaysOfWeek = 7;

    /// <param name="school">Zone and clock.</param>
    /// <param name="now">The present moment; what is over is not drawn.</param>
    /// <param name="hours">Those that still apply.</param>
    /// <param name="timeOff">Now and ahead.</param>
    /// <param name="whose">Behind the addresses of days and weeks; empty for one's own.</param>
    public static GridDrawing Draw(SchoolFacts school, Instant now, IReadOnlyList<WorkingHoursRow> hours, IReadOnlyList<TimeOffRow> timeOff, string whose)
    {
        var today = now.InZone(school.Zone).Date;
        var monday = today.PlusDays(1 - (int)today.DayOfWeek);
        return GridDrawing.Of(new(
            "Hours of the next four weeks", "work, less what is off", school.Zone, now,
            [.. Enumerable.Range(0, DaysOfWeek).Select(n => new GridDay(monday.PlusDays(n), Words: monday.PlusDays(n).ToString("ddd", CultureInfo.InvariantCulture)))],
            [.. Enumerable.Range(0, Weeks).Select(week => Week(monday.PlusDays(week * DaysOfWeek)))])
        {
            TwelveHour = school.TwelveHourClock,
            HoursAlone = true,
        });

        GridRow Week(LocalDate first)
        {
            var days = Enumerable.Range(0, DaysOfWeek).Select(n => Day(first.PlusDays(n))).ToList();
            return new(
                $"{ScreenWords.ShortDate(first)} to {ScreenWords.ShortDate(first.PlusDays(DaysOfWeek - 1))}", $"/diary/week?date={first:uuuu-MM-dd}{whose}", [.. days.Select(day => day.Cell)],
                new(days.Sum(day => day.Left), days.Sum(day => day.Whole)));
        }

        (GridCell Cell, int Left, int Whole) Day(LocalDate date)
        {
            var name = ScreenWords.ShortDay(date);
            var lane = new TimeLane(name, $"/diary/day?date={date:uuuu-MM-dd}{whose}", date);
            if (date < today)
            {
                return (new(lane, null, "over"), 0, 0);
            }

            var day = new Interval(school.Zone.AtStartOfDay(date).ToInstant(), school.Zone.AtStartOfDay(date.PlusDays(1)).ToInstant());
            List<Interval> working = [.. hours.Where(row => row.ToHours().AppliesOn(date)).Select(row => row.ToHours().During(date, school.Zone)).OrderBy(span => span.Start)];
            if (working.Count == 0)
            {
                return (new(lane, null, "not working"), 0, 0);
            }

            List<TimeOffRow> off = [.. timeOff.Where(row => row.StartsAt < day.End && row.EndsAt > day.Start)];
            var left = Minutes(OpenTime.Of(working, off.Select(row => new Interval(row.StartsAt, row.EndsAt))));
            var figure = left == 0 ? new GridFigure("", "off") : new(ScreenWords.Hours(left), "h");
            var words = left == 0 ? $"{name}, off" : $"{name}, {ScreenWords.Hours(left)} h{(off.Count > 0 ? ", off for a part" : "")}";
            return (
                new(lane with { Working = working, Away = [.. off.Select(row => new TimeAway(new(row.StartsAt, row.EndsAt), row.Reason, ""))] }, figure, words),
                left, Minutes(working));
        }
    }

    private static int Minutes(IEnumerable<Interval> spans) => (int)spans.Sum(span => span.Duration.TotalMinutes);
}
