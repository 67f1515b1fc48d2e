using System.Text;
using NodaTime;
using School.Core.Diary.Charges;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Tests.Host;

namespace School.Web.Tests.Calendars;

/// <summary>What a feed says, read over HTTP and read back by Ical.Net.</summary>
public sealed class FeedTests(TestPostgres postgres)
{
    [Fact]
    public async Task An_instructors_feed_tells_when_who_and_where()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);

        var calendar = await host.CalendarAsync(await school.OwnFeedAsync());

        var lesson = Assert.Single(calendar.Events);
        Assert.Equal("Lesson: Tamsin Oakley", lesson.Summary);
        Assert.Equal("12 Quince Lane, Larkfield", lesson.Location);
        Assert.Equal("CONFIRMED", lesson.Status);
        Assert.Equal(Larkfield.Ten, Instant.FromDateTimeUtc(lesson.Start!.AsUtc));
        Assert.Equal(Larkfield.Ten + Duration.FromHours(1), Instant.FromDateTimeUtc(lesson.End!.AsUtc));
        Assert.Equal("Europe/London", lesson.Start.TzId);
        Assert.Equal(school.Lesson.Id.ToString(), lesson.Uid);
    }

    [Fact]
    public async Task A_pupils_feed_names_the_instructor_by_first_name_and_a_cars_feed_who_drives_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        using var pupil = await host.ApiAsAsync(await host.Data.PersonAsync(school.Pupil));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());

        var pupils = await host.CalendarAsync(await pupil.FeedAsync(new { pupilId = school.Pupil.Id, detail = "full" }));
        var cars = await host.CalendarAsync(await office.FeedAsync(new { carId = school.Car.Id, detail = "full" }));

        Assert.Equal("Driving lesson with Marigold", Assert.Single(pupils.Events).Summary);
        Assert.Equal("Lesson: Marigold Ashby with TO", Assert.Single(cars.Events).Summary);
    }

    /// <summary>RFC 5545 sections 3.1 (lines), 3.4 and 3.6 (the object), 3.6.1 (what an event must have).</summary>
    [Fact]
    public async Task A_feed_keeps_to_the_form_of_the_standard()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host, pupil: "Žofie 🚗🚙🛵🚲🛴🚌🚎🏎️🚓🚑🚒🚐🛻🚚🚛🚜 d’Été, the quick; \\slow");

        var text = await host.TextOfAsync(await school.OwnFeedAsync());

        Assert.EndsWith("\r\n", text, StringComparison.Ordinal);
        var lines = text[..^2].Split("\r\n");
        Assert.All(lines, line => Assert.True(Encoding.UTF8.GetByteCount(line) <= 75 && !line.Contains('\n', StringComparison.Ordinal), line));
        Assert.DoesNotContain('\uFFFD', text);
        Assert.Equal(("BEGIN:VCALENDAR", "END:VCALENDAR"), (lines[0], lines[^1]));
        foreach (var once in new[] { "PRODID:", "VERSION:2.0", "BEGIN:VTIMEZONE", "BEGIN:VEVENT", "UID:", "DTSTAMP:", "DTSTART;TZID=Europe/London:", "DTEND;TZID=Europe/London:" })
        {
            Assert.Single(lines, line => line.StartsWith(once, StringComparison.Ordinal));
        }

        Assert.Equal($"Lesson: {school.Pupil.Name}", Assert.Single(Ical.Net.Calendar.Load(text)!.Events).Summary);
    }

    [Fact]
    public async Task A_feed_without_lessons_still_is_a_calendar()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(instructor));

        var calendar = await host.CalendarAsync(await api.FeedAsync(new { instructorId = instructor.Id, detail = "busy" }));

        Assert.Empty(calendar.Events);
        Assert.Equal("Europe/London", Assert.Single(calendar.TimeZones).TzId);
    }

    /// <summary>RFC 5545 sections 3.8.4.7 (UID), 3.8.7.2 (DTSTAMP) and 3.8.7.4 (SEQUENCE).</summary>
    [Fact]
    public async Task Reading_changes_nothing_and_moving_and_cancelling_raise_the_sequence()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        var url = await school.OwnFeedAsync();
        var first = await host.TextOfAsync(url);
        host.Clock.AdvanceHours(1);
        Assert.Equal(first, await host.TextOfAsync(url));

        await school.ChangeAsync((lesson, now) => Assert.Null(lesson.Move(
            school.Instructor.Id, school.Car.Id, new(Larkfield.Ten + Duration.FromHours(2), Larkfield.Ten + Duration.FromHours(3)), now)));
        var moved = Assert.Single((await host.CalendarAsync(url)).Events);
        host.Clock.AdvanceHours(1);
        await school.ChangeAsync((lesson, now) => Assert.Null(lesson.Cancel(CancelReason.Weather, LessonCharge.Decide(ChargeAct.Cancel, ChargeCause.Weather, lesson.StartsAt, now, new(48)), now)));
        var cancelled = Assert.Single((await host.CalendarAsync(url)).Events);

        var booked = Assert.Single(Ical.Net.Calendar.Load(first)!.Events);
        Assert.Equal([0, 1, 2], new[] { booked.Sequence, moved.Sequence, cancelled.Sequence });
        Assert.Single(new[] { booked.Uid, moved.Uid, cancelled.Uid }.Distinct());
        Assert.Equal([0, 1, 2], new[] { booked, moved, cancelled }.Select(e => (Instant.FromDateTimeUtc(e.DtStamp!.AsUtc) - school.Lesson.BookedAt).Hours));
        Assert.Equal(Larkfield.Ten + Duration.FromHours(2), Instant.FromDateTimeUtc(moved.Start!.AsUtc));
    }

    [Fact]
    public async Task A_cancelled_lesson_stays_thirty_days_and_goes()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        var url = await school.OwnFeedAsync();
        await school.ChangeAsync((lesson, now) => Assert.Null(lesson.Cancel(CancelReason.Pupil, LessonCharge.Decide(ChargeAct.Cancel, ChargeCause.Pupil, lesson.StartsAt, now, new(48)), now)));

        host.Clock.Advance(Duration.FromDays(30));
        var kept = Assert.Single((await host.CalendarAsync(url)).Events);
        Assert.Equal(("CANCELLED", "Cancelled: Lesson: Tamsin Oakley"), (kept.Status, kept.Summary));

        host.Clock.AdvanceSeconds(1);
        Assert.Empty((await host.CalendarAsync(url)).Events);
    }

    [Fact]
    public async Task A_subscriber_may_hide_cancelled_lessons()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        await school.ChangeAsync((lesson, now) => Assert.Null(lesson.Cancel(CancelReason.Pupil, LessonCharge.Decide(ChargeAct.Cancel, ChargeCause.Pupil, lesson.StartsAt, now, new(48)), now)));
        using var api = await host.ApiAsAsync(await host.Data.PersonAsync(school.Instructor));

        Assert.Empty((await host.CalendarAsync(await api.FeedAsync(new { instructorId = school.Instructor.Id, detail = "full", hideCancelled = true }))).Events);
    }

    [Fact]
    public async Task A_feed_covers_ninety_days_back_and_a_year_ahead()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        var now = host.Clock.GetCurrentInstant();
        var (old, older) = (school.Another(now - Duration.FromDays(89)), school.Another(now - Duration.FromDays(91)));
        var (far, farther) = (school.Another(now + Duration.FromDays(365)), school.Another(now + Duration.FromDays(367)));
        await host.AddAsync(old, older, far, farther);

        var told = (await host.CalendarAsync(await school.OwnFeedAsync())).Events.Select(e => e.Uid).ToList();

        Assert.Equivalent(new[] { old.Id, school.Lesson.Id, far.Id }.Select(id => id.ToString()), told, strict: true);
    }

    [Fact]
    public async Task Initials_and_area_tell_no_name_and_no_address_and_busy_tells_nothing()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        string[] secrets = ["Tamsin", "Oakley", "Marigold", "Ashby", "12 Quince", "GEO", "@larkfield.example", "+44"];

        foreach (var subject in new[] { ("instructorId", school.Instructor.Id), ("pupilId", school.Pupil.Id), ("carId", school.Car.Id) })
        {
            var area = await host.TextOfAsync(await office.FeedAsync(new Dictionary<string, object> { [subject.Item1] = subject.Id, ["detail"] = "area" }));
            var busy = await host.TextOfAsync(await office.FeedAsync(new Dictionary<string, object> { [subject.Item1] = subject.Id, ["detail"] = "busy" }));

            Assert.All(secrets, secret => Assert.DoesNotContain(secret, area, StringComparison.OrdinalIgnoreCase));
            Assert.All([.. secrets, "Quince", "LOCATION", "DESCRIPTION", "Lesson", "silver"], secret => Assert.DoesNotContain(secret, busy, StringComparison.OrdinalIgnoreCase));
            Assert.Contains("SUMMARY:Busy\r\n", busy, StringComparison.Ordinal);
            Assert.Contains("LOCATION:Quince Lane\r\n", area, StringComparison.Ordinal);
        }

        var own = await host.TextOfAsync(await office.FeedAsync(new { instructorId = school.Instructor.Id, detail = "area" }));
        Assert.Contains("SUMMARY:Lesson: TO\r\n", own, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("👩‍🚀 Stardust", "👩‍🚀S")]
    [InlineData("شهرزاد قمر", "شق")]
    public async Task A_name_in_any_script_keeps_whole_letters_as_initials(string name, string initials)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host, pupil: name);

        Assert.Equal($"Lesson: {name}", Assert.Single((await host.CalendarAsync(await school.OwnFeedAsync())).Events).Summary);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var area = await host.CalendarAsync(await office.FeedAsync(new { instructorId = school.Instructor.Id, detail = "area" }));
        Assert.Equal($"Lesson: {initials}", Assert.Single(area.Events).Summary);
    }
}
