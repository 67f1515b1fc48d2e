using NodaTime;
using School.Web.Platform.Layout.Time;
using Xunit;

namespace School.Web.Tests.Platform.Layout.Time;

public sealed class TimeDrawingTests
{
    private static readonly DateTimeZone London = DateTimeZoneProviders.Tzdb["Europe/London"];
    private static readonly LocalDate Thursday = new(2026, 11, 26);

    [Fact]
    public void The_scale_runs_in_whole_hours_from_the_first_start_to_the_last_end_and_every_third_is_bold()
    {
        var scale = Draw(Lane(Thursday.PlusDays(1)) with { Working = [On(Thursday.PlusDays(1), "08:30", "18:15")] }).Scale;

        Assert.Equal((8 * 60, 19 * 60), (scale.From, scale.To));
        Assert.Equal(["08", "09", "10", "11", "12", "13", "14", "15", "16", "17", "18", "19"], scale.Hours.Select(hour => hour.Figure));
        Assert.Equal(["09", "12", "15", "18"], scale.Hours.Where(hour => hour.Third).Select(hour => hour.Figure));
    }

    [Fact]
    public void A_drive_before_the_first_hour_of_work_is_on_the_scale()
    {
        var scale = Draw(Lane(Thursday) with { Working = [On(Thursday, "09:00", "17:00")], Drives = [new(On(Thursday, "08:40", "08:55"), 15)] }).Scale;
        Assert.Equal(8 * 60, scale.From);
    }

    [Fact]
    public void Time_off_stretches_no_scale_and_a_day_without_anything_has_one_too()
    {
        var scale = Draw(Lane(Thursday) with { Away = [new(On(Thursday, "00:00", "23:59"), "course", "/off")] }).Scale;
        Assert.Equal((8 * 60, 18 * 60), (scale.From, scale.To));

        var lane = Draw(Lane(Thursday)).Lanes.Single();
        Assert.Empty(lane.Plates);
        Assert.Equal("Not working.", Assert.Single(lane.Words).Words);
        Assert.Equal("Nothing booked.", Assert.Single(Draw(Lane(Thursday) with { Working = [On(Thursday, "09:00", "12:00")] }).Lanes.Single().Words).Words);
    }

    [Fact]
    public void A_short_day_is_not_drawn_as_one_huge_lesson()
    {
        var scale = Draw(Lane(Thursday, Plate("Wren Castellan", "10:00", "11:00"))).Scale;
        Assert.True(scale.Minutes >= 360, $"{scale.From} to {scale.To}");
        Assert.True(scale.From <= 600 && scale.To >= 660);
    }

    [Fact]
    public void An_hour_gives_way_to_the_flag_of_now_and_on_a_phone_sooner()
    {
        TimeScale At(string now) => TimeDrawing.Of(new TimePicture("Day", "Instructor", London, Moment(Thursday, now), [Lane(Thursday) with { Working = [On(Thursday, "08:00", "19:00")] }])).Scale;

        // 11 hours on 842 px: 76 px an hour. 12 minutes are 15 px, 48 are 61.
        var scale = At("13:48");
        Assert.Equal(828, scale.Now);
        Assert.Null(scale.Hours.Single(hour => hour.At == 14 * 60).Figure);
        Assert.Equal("13", scale.Hours.Single(hour => hour.At == 13 * 60).Figure);
        // 358 px: 50 minutes are 27 px.
        var close = At("12:50").Hours.Single(hour => hour.At == 12 * 60);
        Assert.Equal(("12", false), (close.Figure, close.OnPhone));
        Assert.True(scale.Hours.Single(hour => hour.At == 9 * 60).OnPhone);
        Assert.False(scale.Hours.Single(hour => hour.At == 10 * 60).OnPhone);
        Assert.Null(At("07:59").Now);
    }

    [Fact]
    public void The_flag_leans_away_from_the_edges()
    {
        int Leans(string now) => TimeDrawing.Of(new TimePicture("Day", "Instructor", London, Moment(Thursday, now), [Lane(Thursday) with { Working = [On(Thursday, "08:00", "19:00")] }])).FlagLeans;
        Assert.True(Leans("08:05") > 0);
        Assert.Equal(0, Leans("13:00"));
        Assert.True(Leans("18:55") < 0);
    }

    /// <summary>Summer Time Act 1972: 01:00 GMT on the last Sunday of March, and of October.</summary>
    [Theory]
    [InlineData(2026, 3, 29, 23)]
    [InlineData(2026, 10, 25, 25)]
    [InlineData(2019, 3, 31, 23)]
    [InlineData(2019, 10, 27, 25)]
    [InlineData(2040, 3, 25, 23)]
    [InlineData(2040, 10, 28, 25)]
    [InlineData(2040, 6, 1, 24)]
    public void A_day_by_itself_is_as_long_as_it_is(int year, int month, int day, int hours)
    {
        var date = new LocalDate(year, month, day);
        var clock = DayClock.Alone(London, date);
        var whole = new Interval(clock.Start, clock.Start + Duration.FromHours(hours));
        var drawing = Draw(Lane(date) with { Working = [whole] });

        Assert.Equal(hours * 60, drawing.Scale.Minutes);
        Assert.Equal(hours + 1, drawing.Scale.Hours.Count);
        var figures = drawing.Scale.Hours.Select(hour => hour.Figure).ToList();
        Assert.Equal(hours == 25 ? 2 : hours == 23 ? 0 : 1, figures.Count(figure => figure == "01"));
        Assert.Equal("24", figures[^1]);
        Assert.Equal("M0 7h" + hours * 60, drawing.Lanes.Single().Paths.Work);
    }

    [Theory]
    [InlineData(2026, 3, 29)]
    [InlineData(2026, 10, 25)]
    public void Among_other_days_the_clock_on_the_wall_decides(int year, int month, int day)
    {
        var sunday = new LocalDate(year, month, day);
        var drawing = Draw(Lane(sunday.PlusDays(-1), Plate(sunday.PlusDays(-1), "Idris Bell", "10:00", "11:00")), Lane(sunday, Plate(sunday, "Idris Bell", "10:00", "11:00")));

        Assert.Equal(drawing.Lanes[0].Plates[0].X, drawing.Lanes[1].Plates[0].X, 9);
        Assert.Equal(drawing.Lanes[0].Plates[0].Width, drawing.Lanes[1].Plates[0].Width, 9);
        Assert.Equal(24 * 60, DayClock.AmongOthers(London, sunday).Length);
    }

    [Fact]
    public void What_ends_on_the_wall_before_it_began_is_as_long_as_it_lasts()
    {
        // 01:30 British Summer Time to 01:10 Greenwich Mean Time: 40 minutes.
        var start = Instant.FromUtc(2026, 10, 25, 0, 30);
        var span = DayClock.AmongOthers(London, new(2026, 10, 25)).Of(new(start, start + Duration.FromMinutes(40)));
        Assert.Equal(new Span(90, 130), span);
    }

    [Fact]
    public void What_reaches_over_the_edge_of_the_date_is_cut_there_and_has_no_post_where_it_did_not_begin()
    {
        var late = new TimePlate(new(Moment(Thursday, "23:30"), Moment(Thursday.PlusDays(1), "00:30")), PlateState.Booked, "booked", "Otis Brindle", "/o");
        var before = Draw(Lane(Thursday, late)).Lanes.Single().Plates.Single();
        var after = Draw(Lane(Thursday.PlusDays(1), late)).Lanes.Single().Plates.Single();

        Assert.Equal(100, before.X + before.Width, 9);
        Assert.True(before.WithPost);
        Assert.Equal(0, after.X);
        Assert.False(after.WithPost);
        Assert.All(new[] { before, after }, plate => Assert.Contains("23:30 to 00:30", plate.Label, StringComparison.Ordinal));
        Assert.Empty(Draw(Lane(Thursday.PlusDays(2), late)).Lanes.Single().Plates);
    }

    [Fact]
    public void Two_at_one_time_share_a_lane_the_lower_plate_twelve_pixels_down()
    {
        var lane = Draw(Lane(Thursday, Plate("Hale Brook", "13:00", "14:30"), Plate("Juno Peverell", "14:00", "15:00"), Plate("Yara Beckwith", "14:30", "15:30"))).Lanes.Single();

        Assert.Equal([-60, -48, -60], lane.Plates.Select(plate => plate.Y));
        Assert.Equal(70 + 12, lane.Height);
        // The one behind shows its first line alone.
        Assert.Single(lane.Plates[0].Lines);
    }

    [Fact]
    public void Lessons_that_touch_do_not_overlap()
    {
        var lane = Draw(Lane(Thursday, Plate("Hale Brook", "13:00", "14:00"), Plate("Juno Peverell", "14:00", "15:00"))).Lanes.Single();
        Assert.Equal(70, lane.Height);
        Assert.All(lane.Plates, plate => Assert.Equal(-48, plate.Y));
    }

    [Fact]
    public void More_than_fourteen_lanes_are_low()
    {
        var fourteen = Draw([.. Enumerable.Range(0, 14).Select(n => Lane(Thursday, Plate("Wren Castellan", "10:00", "11:30")))]);
        var thirty = Draw([.. Enumerable.Range(0, 30).Select(n => Lane(Thursday, Plate("Wren Castellan", "10:00", "11:30")))]);

        Assert.All(fourteen.Lanes, lane => Assert.Equal(70, lane.Height));
        Assert.Equal(30, thirty.Lanes.Count);
        Assert.All(thirty.Lanes, lane =>
        {
            Assert.True(lane.Height < 70);
            Assert.Single(lane.Plates.Single().Lines);
        });
        Assert.True(LaneMeasure.Low.Face >= 24, "WCAG 2.2, 2.5.8: 24 by 24 CSS pixels.");
    }

    [Fact]
    public void A_drive_that_comes_too_late_reaches_into_its_lesson_and_is_marked_there()
    {
        var plate = Plate("Tobias Quill", "14:15", "15:15");
        var lane = Draw(Lane(Thursday, plate) with { Drives = [new(On(Thursday, "14:00", "14:15"), 27, Duration.FromMinutes(12)) { Leads = plate }] }).Lanes.Single();
        var late = Assert.Single(lane.Late);
        Assert.Equal(lane.Plates.Single().X, late.X, 9);
        Assert.Equal(lane.Plates.Single().Width * 12 / 60, late.Width, 9);
        Assert.Equal(27, Assert.Single(lane.Drives).Minutes);
    }

    [Fact]
    public void A_split_shift_is_a_gap_in_the_pale_line()
    {
        var lane = Draw(Lane(Thursday) with { Working = [On(Thursday, "08:00", "12:00"), On(Thursday, "15:00", "19:00")] }).Lanes.Single();
        Assert.Equal("M0 7h240M420 7h240", lane.Paths.Work);
    }

    [Fact]
    public void The_line_of_words_says_now_next_what_is_wrong_and_what_is_free()
    {
        var now = Plate("Anselm Pike", "12:30", "14:00") with { State = PlateState.Now, Word = "now" };
        var open = Plate("Corin Wexley", "11:00", "12:00") with { State = PlateState.Open, Word = "not recorded" };
        var next = Plate("Wren Castellan", "15:00", "16:00") with { Where = "Harbour Street" };
        var lane = Draw(Lane(Thursday, now, open, next, Plate("Marlo Fenn", "17:00", "18:00")) with { Openings = [new(On(Thursday, "18:00", "19:30"), [60, 90], "/b")] }).Lanes.Single();

        Assert.Equal(
            "Now Anselm Pike until 14:00. 11:00 Corin Wexley: not recorded. Next 15:00 Wren Castellan, Harbour Street. Then 17:00 Marlo Fenn. Free 18:00–19:30: room for 60, 90.",
            string.Join(' ', lane.Words.Select(word => word.Words)));
        Assert.Equal([WordWeight.Strong, WordWeight.Heed, WordWeight.Strong], lane.Words.Where(word => word.Weight is not WordWeight.Plain).Select(word => word.Weight));
    }

    [Fact]
    public void Every_link_says_who_when_how_and_where()
    {
        var label = Draw(Lane(Thursday, Plate("Wren Castellan", "14:00", "15:00") with { Where = "Harbour Street" })).Lanes.Single().Plates.Single().Label;
        Assert.Equal("Wren Castellan, 14:00 to 15:00, booked, Harbour Street", label);
    }

    [Fact]
    public void Twelve_hours_are_told_with_am_and_pm_at_every_third()
    {
        var drawing = TimeDrawing.Of(new TimePicture("Day", "Instructor", London, default, [Lane(Thursday, Plate("Wren Castellan", "14:00", "15:30")) with { Working = [On(Thursday, "08:00", "16:00")] }]) { TwelveHour = true });

        Assert.Equal(["8", "9 am", "10", "11", "12 pm", "1", "2", "3 pm", "4"], drawing.Scale.Hours.Select(hour => hour.Figure));
        Assert.Equal("2:00 pm", drawing.Lanes[0].Plates[0].Lines[0].Text);
        Assert.Contains("2:00 pm to 3:30 pm", drawing.Lanes[0].Plates[0].Label, StringComparison.Ordinal);
    }

    [Fact]
    public void The_table_holds_every_row_of_the_picture_in_order_of_time()
    {
        var first = Plate("Wren Castellan", "14:00", "15:00") with { Where = "Harbour Street" };
        var drawing = Draw(
            Lane(Thursday, first) with { Drives = [new(On(Thursday, "13:45", "14:00"), 15) { Leads = first }], Away = [new(On(Thursday, "09:00", "12:00"), "dentist", "/off")] },
            Lane(Thursday, Plate("Idris Bell", "10:00", "11:00")) with { Openings = [new(On(Thursday, "12:00", "13:00"), [60], "/b")] });

        Assert.Equal(["dentist", "Idris Bell", "Free", "Wren Castellan"], drawing.Rows.Select(row => row.What));
        Assert.Equal(15, drawing.Rows.Last().Drive);
        Assert.Equal("room for 60", drawing.Rows.Single(row => row.What == "Free").State);
    }

    internal static TimeDrawing Draw(params TimeLane[] lanes) => TimeDrawing.Of(new("Day", "Instructor", London, Moment(Thursday, "13:48"), lanes));

    internal static TimeLane Lane(LocalDate date, params TimePlate[] plates) => new("Marigold Ashby", "/day", date) { Plates = plates };

    internal static TimePlate Plate(string who, string from, string to) => Plate(Thursday, who, from, to);

    private static TimePlate Plate(LocalDate date, string who, string from, string to) => new(On(date, from, to), PlateState.Booked, "booked", who, "/lesson");

    private static Interval On(LocalDate date, string from, string to) => new(Moment(date, from), Moment(date, to));

    private static Instant Moment(LocalDate date, string time) =>
        (date + NodaTime.Text.LocalTimePattern.CreateWithInvariantCulture("HH:mm").Parse(time).Value).InZoneLeniently(London).ToInstant();
}
