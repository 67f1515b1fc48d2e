using System.Globalization;
using NodaTime;

namespace School.Web.Platform.Layout.Time;

/// <summary>
/// Roads of many dates beside one another, all on one scale: a row for each name, a column for each date, a cell as small as it can be read. Draw it with
/// <c>&lt;partial name="_TimeGrid" model="GridDrawing.Of(grid)" /&gt;</c>. It is a table: whoever hears it is told row and column of each cell.
/// </summary>
/// <param name="Label">What the picture shows, for people who hear it.</param>
/// <param name="SumWord">What stands at the end of each row.</param>
internal sealed record TimeGrid(string Label, string SumWord, DateTimeZone Zone, Instant Now, IReadOnlyList<GridDay> Days, IReadOnlyList<GridRow> Rows)
{
    public bool TwelveHour { get; init; }

    /// <summary>The figures of all rows together, a date each; empty where there is nothing to add.</summary>
    public IReadOnlyList<GridFigure> Foot { get; init; } = [];

    public string FootName { get; init; } = "";

    public GridSum? FootSum { get; init; }

    /// <summary>Whether only working hours and time off are drawn.</summary>
    public bool HoursAlone { get; init; }
}

/// <param name="Mark">What the date is beside a date: a holiday.</param>
/// <param name="Words">What stands above a column whose cells are of several dates: a weekday.</param>
internal sealed record GridDay(LocalDate Date, string? Mark = null, string? Words = null);

internal sealed record GridRow(string Name, string Href, IReadOnlyList<GridCell> Cells, GridSum Sum);

/// <summary>One date of one name. Where it leads stands in its lane.</summary>
/// <param name="Figure">What stands below the road; null where there is nothing, and then nothing leads anywhere.</param>
/// <param name="Words">The cell said.</param>
internal sealed record GridCell(TimeLane Lane, GridFigure? Figure, string Words);

/// <param name="Strong">The number.</param>
/// <param name="Rest">What it counts.</param>
internal sealed record GridFigure(string Strong, string Rest, bool Heeded = false);

/// <summary>How much of what was possible is used, in minutes.</summary>
internal sealed record GridSum(int Used, int Possible)
{
    /// <summary>Per cent, at most all of it.</summary>
    public double Share => Possible <= 0 ? Used > 0 ? 100 : 0 : Math.Min(100, 100.0 * Used / Possible);
}

/// <summary>A grid, laid out.</summary>
internal sealed record GridDrawing(TimeGrid Grid, TimeScale Scale, IReadOnlyList<IReadOnlyList<LaneSketch>> Rows)
{
    private const int WholeDay = 24 * 60;

    /// <summary>The hours from which to which each cell runs.</summary>
    public string Hours => $"{Hour(Scale.From)} to {Hour(Scale.To)} in each cell";

    public static GridDrawing Of(TimeGrid grid)
    {
        var clocks = grid.Days.Select(day => day.Date).Concat(grid.Rows.SelectMany(row => row.Cells.Select(cell => cell.Lane.Date))).Distinct()
            .ToDictionary(date => date, date => DayClock.AmongOthers(grid.Zone, date));
        if (clocks.Count == 0)
        {
            throw new ArgumentException("A grid has dates.", nameof(grid));
        }

        var lanes = grid.Rows.SelectMany(row => row.Cells.Select(cell => cell.Lane)).ToList();
        var shown = lanes.SelectMany(lane => lane.Working.Concat(lane.Plates.Select(plate => plate.During)).Select(clocks[lane.Date].Of).OfType<Span>());
        var ofNow = clocks.Values.FirstOrDefault(clock => clock.Holds(grid.Now));
        var scale = TimeScale.Of(ofNow ?? clocks.Values.First(), shown, grid.Now, grid.TwelveHour);
        var picture = new TimePicture(grid.Label, "", grid.Zone, grid.Now, lanes) { TwelveHour = grid.TwelveHour };
        return new(grid, scale, [.. grid.Rows.Select(row => row.Cells.Select(cell => new LaneLayout(picture, scale, LaneMeasure.Low, cell.Lane, clocks[cell.Lane.Date]).Sketch()).ToList())]);
    }

    private string Hour(int minutes) =>
        Grid.TwelveHour ? ScreenWords.Time(LocalTime.FromMinutesSinceMidnight(minutes % WholeDay), twelveHour: true) : (minutes / 60).ToString("00", CultureInfo.InvariantCulture);
}
