using CsCheck;
using NodaTime;
using School.Web.Platform.Layout.Time;
using Xunit;

namespace School.Web.Tests.Platform.Layout.Time;

/// <summary>What holds of every picture, whatever stands on it.</summary>
public sealed class TimeDrawingProperties
{
    private const double HalfPixel = 0.5;
    private static readonly DateTimeZone London = DateTimeZoneProviders.Tzdb["Europe/London"];

    // Any day of these years is as good as another, the two on which the clocks change among them.
    private static readonly Gen<LocalDate> Date = Gen.Frequency(
        (8, Gen.Int[0, 365 * 21].Select(n => new LocalDate(2019, 1, 1).PlusDays(n))), (1, Gen.Const(new LocalDate(2026, 3, 29))), (1, Gen.Const(new LocalDate(2026, 10, 25))));

    private static readonly Gen<(int From, int Minutes)> Lesson = Gen.Select(Gen.Int[-120, 25 * 60], Gen.Int[15, 240]);

    private static readonly Gen<(LocalDate Date, (int From, int Minutes)[][] Lanes)> Days = Gen.Select(Date, Lesson.Array[0, 9].Array[1, 30]);

    [Fact]
    public void No_plate_leaves_the_scale() => Days.Sample(day => Draw(day).Lanes.SelectMany(lane => lane.Plates)
        .All(plate => plate.X >= 0 && plate.Width > 0 && plate.X + plate.Width <= 100 + 1e-9), iter: 500);

    [Fact]
    public void No_two_plates_of_a_row_overlap_and_each_that_overlaps_in_time_has_a_row_of_its_own() => Days.Sample(day =>
    {
        foreach (var lane in Draw(day).Lanes)
        {
            for (var i = 0; i < lane.Plates.Count; i++)
            {
                foreach (var other in lane.Plates.Skip(i + 1))
                {
                    var plate = lane.Plates[i];
                    var inPixels = plate.X + 1e-9 < other.X + other.Width && other.X + 1e-9 < plate.X + plate.Width;
                    var inTime = plate.Plate.During.Start < other.Plate.During.End && other.Plate.During.Start < plate.Plate.During.End;
                    Assert.False(plate.Y == other.Y && (inPixels || inTime), $"{plate} {other}");
                }
            }
        }
    }, iter: 500);

    [Fact]
    public void A_plate_is_as_wide_as_it_is_long_within_half_a_pixel() => Days.Sample(day =>
    {
        var drawing = Draw(day);
        var clock = DayClock.Alone(London, day.Date);
        foreach (var plate in drawing.Lanes.SelectMany(lane => lane.Plates))
        {
            var during = plate.Plate.During;
            var seen = (Instant.Min(during.End, clock.Start + Duration.FromMinutes(drawing.Scale.To)) - Instant.Max(during.Start, clock.Start + Duration.FromMinutes(drawing.Scale.From))).TotalMinutes;
            // As the page says it, two digits after the point.
            var said = double.Parse(TimeDrawing.Number(plate.Width), System.Globalization.CultureInfo.InvariantCulture);
            Assert.InRange(TimeScale.Wide * said / 100 - TimeScale.Wide * seen / drawing.Scale.Minutes, -HalfPixel, HalfPixel);
        }
    }, iter: 500);

    [Fact]
    public void Every_lesson_that_touches_the_date_is_drawn() => Days.Sample(day =>
    {
        var clock = DayClock.Alone(London, day.Date);
        var touching = Lanes(day).SelectMany(lane => lane.Plates).Count(plate => plate.During.Start < clock.Start + Duration.FromMinutes(clock.Length) && plate.During.End > clock.Start);
        return Draw(day).Lanes.Sum(lane => lane.Plates.Count) == touching;
    }, iter: 500);

    private static TimeDrawing Draw((LocalDate Date, (int From, int Minutes)[][] Lanes) day) => TimeDrawing.Of(new("Day", "Instructor", London, default, [.. Lanes(day)]));

    private static IEnumerable<TimeLane> Lanes((LocalDate Date, (int From, int Minutes)[][] Lanes) day)
    {
        var start = London.AtStartOfDay(day.Date).ToInstant();
        return day.Lanes.Select((lessons, n) => new TimeLane($"Lane {n}", "/", day.Date)
        {
            Plates = [.. lessons.Select(lesson => new TimePlate(
                new(start + Duration.FromMinutes(lesson.From), start + Duration.FromMinutes(lesson.From + lesson.Minutes)), PlateState.Booked, "booked", "Wren Castellan", "/"))],
        });
    }
}
