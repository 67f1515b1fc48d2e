using NodaTime;
using School.Core.Diary;
using School.Web.Platform.Layout;
using School.Web.Platform.Layout.Time;

namespace School.Web.Modules.Diary.Day;

/// <summary>The school's weeks as a grid of small roads, and as a list of dates.</summary>
internal sealed class WeeksView(SchoolWeeks weeks, LocalDate from, LocalDate to, string kept, string footName)
{
    public GridDrawing Draw(string label) => GridDrawing.Of(
        new(label, "booked of possible", weeks.School.Zone, weeks.Now, [.. Days.Select(day => new GridDay(day.Date, day.Holiday))], [.. weeks.Instructors.Select(Row)])
        {
            TwelveHour = weeks.School.TwelveHourClock,
            FootName = footName,
            Foot = [.. Days.Select(day => Figure(day.Date, day.Possible > 0, day.Booked, day.Free, 0, 0, day.Tests))],
            FootSum = new(Days.Sum(day => day.Booked), Days.Sum(day => day.Possible)),
        });

    /// <summary>What each date has in all.</summary>
    public IReadOnlyList<WeeksDay> Days { get; } =
        [.. Enumerable.Range(0, Period.DaysBetween(from, to) + 1).Select(n => InAll(from.PlusDays(n), [.. weeks.Instructors.Select(row => row[n])], weeks, kept))];

    private static WeeksDay InAll(LocalDate date, List<DayOutline> days, SchoolWeeks weeks, string kept) => new(
        date, days.Sum(day => day.BookedMinutes), days.Sum(day => day.PossibleMinutes), days.Sum(day => day.FreeMinutes),
        days.Sum(day => day.Tests.Count),
        [.. days.Where(day => day.FreeMinutes > 0).OrderByDescending(day => day.FreeMinutes).Select(day => $"{day.Instructor.Name} {ScreenWords.Hours(day.FreeMinutes)} h")])
    {
        Holiday = weeks.Holidays.GetValueOrDefault(date),
        Href = Board(date, kept),
    };

    private static string Board(LocalDate date, string kept) => $"/diary/board?date={date:uuuu-MM-dd}{kept}";

    private GridRow Row(IReadOnlyList<DayOutline> row) => new(
        row[0].Instructor.Name, $"/diary/week?date={from:uuuu-MM-dd}&instructorId={row[0].Instructor.Id}", [.. row.Select(Cell)],
        new(row.Sum(day => day.BookedMinutes), row.Sum(day => day.PossibleMinutes)));

    private GridCell Cell(DayOutline day)
    {
        var cannot = day.InTimeOff.Count;
        var any = day.IsWorking || day.Entries.Count > 0;
        var lane = new TimeLane(day.Instructor.Name, Board(day.Date, kept), day.Date)
        {
            Working = day.Working,
            Plates = [.. day.Entries.Select(entry => Plate(day, entry))],
            // Who does not work is not off: a week's holiday would fill Sundays too.
            Away = any ? [.. day.Off.Select(off => new TimeAway(off, "", ""))] : [],
        };
        var tests = day.Tests.Count;
        string[] said =
        [
            $"{day.Instructor.Name}, {ScreenWords.ShortDay(day.Date)}",
            .. any ? [] : new[] { "not working" },
            .. day.Off.Count > 0 && any ? new[] { day.PossibleMinutes == 0 ? "off" : "off for a part" } : [],
            .. day.BookedMinutes > 0 || day.PossibleMinutes > 0 ? new[] { $"{ScreenWords.Hours(day.BookedMinutes)} h booked" } : [],
            .. tests > 0 ? new[] { Words.Count(tests, "test") } : [],
            .. cannot > 0 ? new[] { $"{cannot} clash with time off" } : [],
            .. day.FreeMinutes > 0 ? new[] { $"{ScreenWords.Hours(day.FreeMinutes)} free" } : [],
        ];
        var figure = Figure(day.Date, day.PossibleMinutes > 0, day.BookedMinutes, day.FreeMinutes, cannot, day.Off.Count, tests);
        var words = string.Join(", ", !any || figure.Strong.Length > 0 ? said : [.. said, .. said.Contains(figure.Rest) ? [] : new[] { figure.Rest }]);
        return new(lane, any ? figure : null, words);
    }

    private static TimePlate Plate(DayOutline day, DiaryEntry entry) => new(
        entry.During,
        day.InTimeOff.Contains(entry.Id) ? PlateState.Cannot : entry.Kind is EntryKind.Test ? PlateState.Test : PlateState.Booked, "", "", "")
    {
        Flag = day.Tests.TryGetValue(entry.Id, out var begins) ? begins : null,
    };

    // Ahead the question is where there is room; of what is over, how much was taught.
    private GridFigure Figure(LocalDate date, bool possible, int booked, int free, int cannot, int off, int tests) =>
        cannot > 0 ? new($"▲ {cannot}", "clash", Heeded: true)
        : !possible && booked == 0 && tests > 0 ? new($"{tests}", tests == 1 ? "test" : "tests")
        : !possible && booked == 0 ? new("", off > 0 ? "off" : "shut")
        : date < weeks.Now.InZone(weeks.School.Zone).Date ? new(ScreenWords.Hours(booked), "h")
        : free > 0 ? new(ScreenWords.Hours(free), "free")
        : new("", "full");
}

/// <summary>A date of all who are shown, in minutes.</summary>
/// <param name="Room">Who is free, and for how long, most first.</param>
internal sealed record WeeksDay(LocalDate Date, int Booked, int Possible, int Free, int Tests, IReadOnlyList<string> Room)
{
    public required string? Holiday { get; init; }

    public required string Href { get; init; }
}
