using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Layout.Time;

namespace School.Web.Modules.Diary.Day;

/// <summary>Day, week and fortnight as one switch: of the school for whoever sees its diary, of one instructor otherwise.</summary>
internal static class DiaryRanges
{
    public const int Day = 1;
    public const int Week = 7;
    public const int Fortnight = 14;

    /// <param name="here">Which of them the page shows.</param>
    /// <param name="first">The first date that it shows.</param>
    /// <param name="today">Today: from a week that it lies in it leads to this day.</param>
    /// <param name="kept">What else the address says of whom to show.</param>
    public static IReadOnlyList<TimeRange> OfSchool(int here, LocalDate first, LocalDate today, string kept)
    {
        var date = Within(here, first, today);
        return
        [
            new($"/diary/board?date={date:uuuu-MM-dd}{kept}", "Day", here == Day),
            new($"/diary/fortnight?date={date:uuuu-MM-dd}&weeks=1{kept}", "Week", here == Week),
            new($"/diary/fortnight?date={date:uuuu-MM-dd}{kept}", "Fortnight", here == Fortnight),
        ];
    }

    /// <param name="viewer">Who looks.</param>
    /// <param name="monday">The week.</param>
    /// <param name="today">Today.</param>
    /// <param name="whose">Whose week, behind what an address says already; empty for one's own.</param>
    public static IReadOnlyList<TimeRange> OfInstructor(Viewer viewer, LocalDate monday, LocalDate today, string whose)
    {
        var date = Within(Week, monday, today);
        var own = new TimeRange[] { new($"/diary/day?date={date:uuuu-MM-dd}{whose}", "Day", false), new($"/diary/week?date={date:uuuu-MM-dd}{whose}", "Week", true) };
        return viewer.May(Permission.SeeWholeDiary) ? [.. own, new($"/diary/fortnight?date={date:uuuu-MM-dd}", "Fortnight of all", false)] : own;
    }

    private static LocalDate Within(int days, LocalDate first, LocalDate today) => today >= first && today < first.PlusDays(days) ? today : first;
}
