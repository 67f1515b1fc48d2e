using System.Globalization;
using NodaTime;

namespace School.Web.Platform.Layout.Time;

/// <summary>One road as it is drawn: everything measured, nothing left to the browser.</summary>
internal sealed record LaneDrawing(TimeLane Lane, int Height, int Top)
{
    public IReadOnlyList<DrawnPlate> Plates { get; init; } = [];

    public IReadOnlyList<DrawnPart> Away { get; init; } = [];

    public IReadOnlyList<DrawnPart> Openings { get; init; } = [];

    public IReadOnlyList<DrawnPart> Late { get; init; } = [];

    public IReadOnlyList<DrawnMinutes> Drives { get; init; } = [];

    /// <summary>Working hours, their ends, the road in use, the drives' paint: lines in minutes, stretched to the width of the lane.</summary>
    public LanePaths Paths { get; init; } = new("", "", "", "");

    /// <summary>Where now is, on its own date.</summary>
    public double? Now { get; init; }

    public bool IsToday { get; init; }

    public IReadOnlyList<LaneWord> Words { get; init; } = [];
}

/// <param name="X">Per cent of the lane, from the left.</param>
/// <param name="Width">Per cent of the lane.</param>
/// <param name="Y">From the road's upper edge, in CSS pixels.</param>
/// <param name="Below">Words below the road; null where they have no room.</param>
/// <param name="Flag">Where its flag is, in per cent of the lane.</param>
/// <param name="WithPost">False where it began before the date or the scale.</param>
internal sealed record DrawnPlate(TimePlate Plate, double X, double Width, int Y, int Height, IReadOnlyList<PlateLine> Lines, string? Below, double? Flag, bool WithPost, string Label);

/// <summary>A stretch without a plate. The lines have room within it.</summary>
internal sealed record DrawnPart(double X, double Width, IReadOnlyList<string> Lines, string? Href = null, string Label = "");

/// <summary>The minutes of a drive, below its middle.</summary>
internal sealed record DrawnMinutes(double X, int Minutes);

internal sealed record LanePaths(string Work, string Ends, string Tarmac, string Paint);

/// <summary>Part of the line of words below a lane.</summary>
internal sealed record LaneWord(string Words, WordWeight Weight = WordWeight.Plain);

internal enum WordWeight
{
    Plain,
    Strong,
    Heed,
}

/// <summary>Lays one lane out on a scale.</summary>
internal sealed class LaneLayout(TimePicture picture, TimeScale scale, LaneMeasure measure, TimeLane lane, DayClock clock)
{
    private const double BelowGap = 4;
    private const double HalfFigure = 9;

    private readonly List<(TimePlate Plate, Span Whole, Span Shown, int Row)> plates = Rows(lane, clock, scale);

    public LaneDrawing Draw()
    {
        var rows = plates.Count == 0 ? 1 : plates.Max(placed => placed.Row) + 1;
        var drives = Shown(lane.Drives, drive => drive.During);
        var drawn = plates.Select(placed => Plate(placed, rows, drives)).ToList();
        var today = clock.Holds(picture.Now);
        return new(lane, measure.Height(rows), measure.Top(rows))
        {
            Plates = drawn,
            Away = [.. Shown(lane.Away, away => away.During).Select(Away)],
            Openings = [.. Shown(lane.Openings, opening => opening.During).Select(Opening)],
            Late = [.. Shown(lane.Drives.Where(drive => drive.Late > Duration.Zero), drive => new(drive.During.End, drive.During.End + drive.Late)).Select(late => Part(late.Shown, []))],
            Drives = [.. drives.Select(drive => new DrawnMinutes(scale.Across((drive.Shown.From + drive.Shown.To) / 2), drive.Of.Minutes)).Where(minutes => !Covered(minutes))],
            Paths = Paths(drives),
            Now = today && scale.Now is { } now ? scale.Across(now) : null,
            IsToday = today,
            Words = LaneWords.Of(picture, lane, clock),
        };

        // What is wrong may be written as far as there is room; the figure of a drive gives way to it.
        bool Covered(DrawnMinutes minutes) => drawn.Any(plate => plate is { Plate.Fault: not null, Below: { } words } && minutes.X > plate.X
            && minutes.X < plate.X + 100 * PlateText.Pixels(words, bold: true) / TimeScale.Wide);
    }

    /// <summary>The roads alone, for a lane as small as it can be read.</summary>
    public LaneSketch Sketch() => new(
        Lines(Shown(lane.Working, span => span).Select(one => one.Shown)),
        Lines(plates.Where(placed => placed.Plate.State is not PlateState.Cannot).Select(placed => placed.Shown)))
    {
        Away = [.. Shown(lane.Away, away => away.During).Select(one => Part(one.Shown, []))],
        Cannot = [.. plates.Where(placed => placed.Plate.State is PlateState.Cannot).Select(placed => Part(placed.Shown, []))],
        Flags = [.. plates.Select(placed => placed.Plate.Flag).OfType<Instant>().Where(clock.Holds).Select(flag => scale.Across(clock.At(flag)))],
        Now = clock.Holds(picture.Now) && scale.Now is { } now ? scale.Across(now) : null,
    };

    /// <summary>Plates that touch one another's time stand in rows, each as high up as it can.</summary>
    internal static List<(TimePlate Plate, Span Whole, Span Shown, int Row)> Rows(TimeLane lane, DayClock clock, TimeScale scale)
    {
        var ends = new List<double>();
        var placed = new List<(TimePlate, Span, Span, int)>();
        foreach (var (plate, whole) in lane.Plates.Select(plate => (plate, clock.Of(plate.During))).Where(one => one.Item2 is not null)
            .Select(one => (one.plate, one.Item2!.Value)).OrderBy(one => one.Item2.From).ThenBy(one => one.Item2.To))
        {
            if (scale.Cut(whole) is not { } shown)
            {
                continue;
            }

            var row = ends.FindIndex(end => end <= whole.From);
            if (row < 0)
            {
                row = ends.Count;
                ends.Add(0);
            }

            ends[row] = whole.To;
            placed.Add((plate, whole, shown, row));
        }

        return placed;
    }

    private List<(T Of, Span Shown)> Shown<T>(IEnumerable<T> parts, Func<T, Interval> during) =>
        [.. parts.Select(part => (part, clock.Of(during(part)))).Where(one => one.Item2 is not null)
            .Select(one => (one.part, scale.Cut(one.Item2!.Value))).Where(one => one.Item2 is not null).Select(one => (one.part, one.Item2!.Value)).OrderBy(one => one.Value.From)];

    private DrawnPlate Plate((TimePlate Plate, Span Whole, Span Shown, int Row) placed, int rows, List<(TimeDrive Of, Span Shown)> drives)
    {
        var (plate, whole, shown, row) = placed;
        var pixels = scale.Pixels(shown.Minutes);
        var start = picture.Time(plate.During.Start);
        // Of a plate with another in front only the uppermost line is seen.
        var low = picture.Low || plates.Any(other => other.Row > row && other.Whole.Overlaps(whole));
        var y = measure.Y(row, rows);
        return new(
            plate, scale.Across(shown.From), 100 * shown.Minutes / scale.Minutes, y, -y,
            low ? PlateText.Low(plate, whole.Minutes, pixels, start) : PlateText.High(plate, whole.Minutes, pixels, start, picture.Time(plate.During.End)),
            picture.Low ? null : Below(placed, drives),
            plate.Flag is { } flag && clock.Holds(flag) ? scale.Across(clock.At(flag)) : null,
            shown.From == whole.From && plate.During.Start >= clock.Start, Label(plate));
    }

    private string Label(TimePlate plate)
    {
        var said = new[]
        {
            PlateText.Isolated(plate.Who), $"{picture.Time(plate.During.Start)} to {picture.Time(plate.During.End)}", plate.Word, plate.Fault == plate.Word ? null : plate.Fault,
            plate.Where is null ? null : PlateText.Isolated(plate.Where),
        };
        return string.Join(", ", said.Where(part => !string.IsNullOrEmpty(part)));
    }

    private string? Below((TimePlate Plate, Span Whole, Span Shown, int Row) placed, List<(TimeDrive Of, Span Shown)> drives)
    {
        var (plate, _, shown, _) = placed;
        var next = plates.Where(other => other.Shown.From > shown.From).Select(other => other.Shown.From).DefaultIfEmpty(scale.To).Min();
        var room = scale.Pixels(next - shown.From) - BelowGap;
        if (plate.Fault is { } fault)
        {
            return PlateText.Cut(fault, room, bold: true);
        }

        foreach (var (_, drive) in drives.Where(drive => drive.Shown.To > shown.From && drive.Shown.From >= shown.From))
        {
            room = Math.Min(room, scale.Pixels((drive.From + drive.To) / 2 - shown.From) - HalfFigure - BelowGap);
        }

        return plate.Where is null ? null : PlateText.Cut(plate.Where, room) is { } fits ? PlateText.Isolated(fits) : null;
    }

    private DrawnPart Part(Span shown, IReadOnlyList<string> lines, string? href = null, string label = "") =>
        new(scale.Across(shown.From), 100 * shown.Minutes / scale.Minutes, lines, href, label);

    private DrawnPart Away((TimeAway Of, Span Shown) one)
    {
        var (away, shown) = one;
        var reason = away.Reason.Trim();
        var next = plates.Where(plate => plate.Shown.To > shown.From).Select(plate => plate.Shown.From).DefaultIfEmpty(scale.To).Min();
        var words = PlateText.Cut(reason.Length == 0 ? "off" : $"off: {reason}", scale.Pixels(Math.Min(next, shown.To) - shown.From) - BelowGap, bold: true);
        var label = $"Off {LaneWords.Within(picture, clock, away.During)}{(reason.Length == 0 ? "" : $", {PlateText.Isolated(reason)}")}";
        return Part(shown, words is null ? [] : [PlateText.Isolated(words)], away.Href, label);
    }

    private DrawnPart Opening((TimeOpening Of, Span Shown) one)
    {
        var (opening, shown) = one;
        var room = scale.Pixels(shown.Minutes) - PlateText.Inset - BelowGap;
        var (times, lengths) = (picture.Times(opening.During), string.Join(' ', opening.Lengths));
        string[] first = picture.Low ? [$"free {lengths}", lengths, "free"] : [$"free {times}", $"free {picture.Time(opening.During.Start)}", "free"];
        string[] second = picture.Low ? [] : [$"room for {lengths}", lengths];
        var label = $"Free {picture.Time(opening.During.Start)} to {picture.Time(opening.During.End)}, room for {string.Join(", ", opening.Lengths)}: book";
        return Part(shown, [.. new[] { first, second }.Select(line => line.FirstOrDefault(words => PlateText.Pixels(words, bold: false) <= room)).OfType<string>()], opening.Href, label);
    }

    private LanePaths Paths(List<(TimeDrive Of, Span Shown)> drives)
    {
        var work = Shown(lane.Working, span => span).Select(one => one.Shown).ToList();
        return new(
            Lines(work), string.Concat(work.SelectMany(span => new[] { span.From, span.To }).Select(at => $"M{Number(at)} 0v14")),
            Lines(drives.Select(drive => drive.Shown).Concat(plates.Select(plate => plate.Shown)).OrderBy(span => span.From)), Lines(drives.Select(drive => drive.Shown)));
    }

    private string Lines(IEnumerable<Span> spans) => string.Concat(spans.Select(span => $"M{Number(span.From)} 7h{Round(span.Minutes)}"));

    private string Number(double minutes) => Round(minutes - scale.From);

    private static string Round(double minutes) => minutes.ToString("0.#", CultureInfo.InvariantCulture);
}
