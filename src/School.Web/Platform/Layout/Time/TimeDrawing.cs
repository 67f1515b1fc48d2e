using System.Globalization;
using NodaTime;

namespace School.Web.Platform.Layout.Time;

/// <summary>A picture of time, laid out: what <c>_TimePicture</c> draws and <c>_TimeTable</c> says.</summary>
internal sealed record TimeDrawing(TimePicture Picture, TimeScale Scale, LaneMeasure Measure, IReadOnlyList<LaneDrawing> Lanes)
{
    private const double FlagAtEdge = 7;
    private const int FlagAside = 18;

    /// <summary>The flag's words, where now is on the scale.</summary>
    public string? Now => Scale.Now is null ? null : Picture.Time(Picture.Now);

    /// <summary>How far the flag leans from an edge of the scale so as not to hang over it, in CSS pixels.</summary>
    public int FlagLeans => Scale.Now is not { } now ? 0 : Scale.Across(now) < FlagAtEdge ? FlagAside : Scale.Across(now) > 100 - FlagAtEdge ? -FlagAside : 0;

    public static TimeDrawing Of(TimePicture picture)
    {
        var dates = picture.Lanes.Select(lane => lane.Date).Distinct().ToList();
        var clocks = dates.ToDictionary(date => date, date => dates.Count == 1 ? DayClock.Alone(picture.Zone, date) : DayClock.AmongOthers(picture.Zone, date));
        if (dates.Count == 0)
        {
            clocks[default] = DayClock.Alone(picture.Zone, picture.Now.InZone(picture.Zone).Date);
        }

        // Time off says when nobody works, so it stretches no scale.
        var shown = picture.Lanes.SelectMany(lane => lane.Working.Concat(lane.Plates.Select(plate => plate.During)).Concat(lane.Drives.Select(drive => drive.During))
            .Select(clocks[lane.Date].Of).OfType<Span>());
        var ofNow = clocks.Values.FirstOrDefault(clock => clock.Holds(picture.Now));
        var scale = TimeScale.Of(ofNow ?? clocks.Values.First(), shown, picture.Now, picture.TwelveHour);
        var measure = picture.Low ? LaneMeasure.Low : LaneMeasure.High;
        return new(picture, scale, measure, [.. picture.Lanes.Select(lane => new LaneLayout(picture, scale, measure, lane, clocks[lane.Date]).Draw())]);
    }

    /// <summary>All that stands on the lanes by time, then by lane.</summary>
    public IEnumerable<TimeRow> Rows => Lanes.SelectMany((lane, n) => TimeRow.Of(Picture, lane.Lane).Select(row => (row, n)))
        .OrderBy(one => one.row.At).ThenBy(one => one.n).Select(one => one.row);

    /// <summary>A number as an attribute of SVG.</summary>
    public static string Number(double value) => value.ToString("0.##", CultureInfo.InvariantCulture);

    public static string Percent(double value) => Number(value) + "%";
}

/// <summary>A line of the table.</summary>
internal sealed record TimeRow(Instant At, LocalDate Date, string Lane, string Times, string What, string Href, string? Where, string State, int? Drive = null)
{
    public static IEnumerable<TimeRow> Of(TimePicture picture, TimeLane lane)
    {
        var clock = DayClock.AmongOthers(picture.Zone, lane.Date);
        return lane.Plates.Where(plate => clock.Of(plate.During) is not null).Select(plate => Line(plate.During, picture.Times(plate.During), plate.Who, plate.Href, plate.Where,
                plate.Fault is null || plate.Fault == plate.Word ? plate.Word : $"{plate.Word}, {plate.Fault}", DriveTo(plate)))
            .Concat(lane.Away.Where(away => clock.Of(away.During) is not null).Select(away => Line(
                away.During, LaneWords.Within(picture, clock, away.During), away.Reason.Trim() is { Length: > 0 } why ? why : "Off", away.Href, null, "off", null)))
            .Concat(lane.Openings.Where(opening => clock.Of(opening.During) is not null).Select(opening => Line(
                opening.During, picture.Times(opening.During), "Free", opening.Href, null, $"room for {string.Join(", ", opening.Lengths)}", null)));

        TimeRow Line(Interval during, string times, string what, string href, string? where, string state, int? drive) =>
            new(Instant.Max(during.Start, clock.Start), lane.Date, lane.Name, times, what, href, where, state, drive);

        int? DriveTo(TimePlate plate) => lane.Drives.LastOrDefault(drive => drive.Leads == plate)?.Minutes;
    }
}
