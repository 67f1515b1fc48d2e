using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Pupils;
using School.Tests;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.School;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Day;

public sealed class DayPageTests(TestPostgres postgres)
{
    [Fact]
    public async Task Lessons_in_time_off_are_told_as_that_and_not_as_late()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        await host.AddAsync(new TimeOffRow
        {
            InstructorId = day.Marigold.Id,
            StartsAt = LarkfieldMonday.At(11, 30),
            EndsAt = LarkfieldMonday.At(18, 0),
            Reason = "Dentist",
        });
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        var page = await browser.GetStringAsync("/diary/day");
        Assert.Contains("2 booked lessons lie in the time off.", page, StringComparison.Ordinal);
        Assert.Contains("11:45 Wren Castellan, 15:45 Marlo Fenn", page, StringComparison.Ordinal);
        Assert.DoesNotContain("late</b>", page, StringComparison.Ordinal);
        Assert.DoesNotContain("Late at", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_strip_tells_the_day_in_order_with_legs_needs_and_what_does_not_fit()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        var page = await ReadAsync(browser, "/diary/day");

        var order = new[] { "Leave home by", "Home to Mill Lane", "Tamsin Oakley", "To Quarry Rise", "Idris Bell", "To Harbour Street", "Wren Castellan", "Free 12:45", "Marlo Fenn", "Home about" };
        var places = order.Select(words => page.IndexOf(words, page.IndexOf("class=\"strip", StringComparison.Ordinal), StringComparison.Ordinal)).ToList();
        Assert.DoesNotContain(-1, places);
        Assert.Equal(places.Order(), places);
        Assert.Contains("Tight at 11:45.", page, StringComparison.Ordinal);
        Assert.Contains("Last note: Good mirrors. Signal a little earlier.", page, StringComparison.Ordinal);
        Assert.Contains("provisional licence, eyesight at 20 metres.", page, StringComparison.Ordinal);
        // What is hidden above the strip shows only where there is no signal.
        var strip = page[page.IndexOf("class=\"strip", StringComparison.Ordinal)..];
        Assert.DoesNotContain($"href=\"/syllabus/lessons/{day.OnNow.Id}/record\"", strip, StringComparison.Ordinal);
        Assert.DoesNotContain($"href=\"/syllabus/lessons/{day.Tight.Id}/record\"", strip, StringComparison.Ordinal);
        Assert.Contains("href=\"tel:+441632960002\"", page, StringComparison.Ordinal);
        Assert.Contains("href=\"geo:52.451,-1.105\"", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Whose_foreign_licence_has_ended_brings_the_provisional_beside_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        Task<int> ResidentAsync(LocalDate since) => host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set
            .SetProperty(p => p.LicenceKind, LicenceKind.Foreign).SetProperty(p => p.ResidentSince, since).SetProperty(p => p.ProvisionalBesideFrom, new LocalDate(2024, 5, 4))));
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        await ResidentAsync(new(2020, 1, 1));
        Assert.Contains("provisional licence, eyesight at 20 metres.", await ReadAsync(browser, "/diary/day"), StringComparison.Ordinal);
        await ResidentAsync(new(2025, 12, 1));
        Assert.Contains("driving licence, eyesight at 20 metres.", await ReadAsync(browser, "/diary/day"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_instructor_sees_no_day_but_their_own()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        var other = await host.Data.InstructorAsync("Alder Quince");
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(other));
        Assert.DoesNotContain("Idris Bell", await ReadAsync(browser, "/diary/day"), StringComparison.Ordinal);
        foreach (var page in new[] { "day", "week", "hours", "hours-span", "time-off" })
        {
            Assert.Equal(HttpStatusCode.NotFound, (await browser.GetAsync($"/diary/{page}?instructorId={day.Marigold.Id}")).StatusCode);
        }
    }

    [Fact]
    public async Task The_office_sees_any_day_and_without_a_name_the_board()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Contains("Marigold Ashby", await ReadAsync(browser, $"/diary/day?instructorId={day.Marigold.Id}"), StringComparison.Ordinal);
        Assert.Equal("/diary/board", (await browser.GetAsync("/diary/day")).Headers.Location?.ToString());
    }

    [Fact]
    public async Task A_pupil_is_kept_out_of_the_pages_of_the_staff()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.PupilAsync()));
        foreach (var page in new[] { "day", "week", "board", "attention", "hours", "settings", "holidays", "lessons/new" })
        {
            Assert.NotEqual(HttpStatusCode.OK, (await browser.GetAsync($"/diary/{page}")).StatusCode);
        }
    }

    [Fact]
    public async Task Times_follow_the_twelve_hour_clock_of_the_school()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        await host.WithDbAsync(async db =>
        {
            (await db.Set<SchoolProfile>().SingleAsync()).TwelveHourClock = true;
            return await db.SaveChangesAsync();
        });
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        var page = await ReadAsync(browser, "/diary/day");
        Assert.Contains("3:45 pm–5:15 pm", page, StringComparison.Ordinal);
        Assert.DoesNotContain("15:45", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_day_off_and_a_day_without_lessons_say_so()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        await host.AddAsync(new TimeOffRow
        {
            InstructorId = instructor.Id,
            StartsAt = DiaryApi.London(2026, 3, 3, 0),
            EndsAt = DiaryApi.London(2026, 3, 4, 0),
            Reason = "first aid course",
        });
        await host.WithDbAsync(db => db.Set<WorkingHoursRow>().Where(h => h.Day == IsoDayOfWeek.Thursday).ExecuteDeleteAsync());
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(instructor));

        var off = await ReadAsync(browser, "/diary/day?date=2026-03-03");
        Assert.Contains("Off all day", off, StringComparison.Ordinal);
        Assert.Contains("first aid course", off, StringComparison.Ordinal);
        var free = await ReadAsync(browser, "/diary/day?date=2026-03-04");
        Assert.Contains("No lessons", free, StringComparison.Ordinal);
        Assert.Contains("Free 08:00–18:00", free, StringComparison.Ordinal);
        Assert.Contains("A day off", await ReadAsync(browser, "/diary/day?date=2026-03-05"), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("9999-12-31")]
    [InlineData("-9998-01-01")]
    [InlineData("tomorrow")]
    [InlineData("2026-02-30")]
    public async Task A_date_that_is_none_of_this_diary_shows_today(string date)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        Assert.Contains("Monday 2 March", await ReadAsync(browser, $"/diary/day?date={date}"), StringComparison.Ordinal);
        Assert.Contains("Monday 2 March", await ReadAsync(browser, $"/diary/week?date={date}"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_week_counts_what_was_taught_of_what_was_booked()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        var page = await ReadAsync(browser, "/diary/week");
        Assert.Contains("<b>1½ hours</b> taught of", page, StringComparison.Ordinal);
        Assert.Contains("<b>5¼ hours</b> booked.", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Missed_lessons_are_counted_in_the_totals_of_day_week_and_board()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await LarkfieldMonday.SeedAsync(host, others: 1);
        var alder = await host.WithDbAsync(db => db.Set<Instructor>().SingleAsync(i => i.Name == "Alder Quince"));
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(alder));
        var day = await ReadAsync(browser, "/diary/day");
        Assert.Contains("2 lessons, 3 hours, ", day, StringComparison.Ordinal);
        Assert.Contains(" 1 missed.", day, StringComparison.Ordinal);
        Assert.DoesNotContain("0 taught", day, StringComparison.Ordinal);
        var week = await ReadAsync(browser, "/diary/week");
        Assert.Contains("<b>3 hours</b> booked, 1 lesson missed.", week, StringComparison.Ordinal);
        Assert.Contains("2 lessons, 3 hours, 1 missed", week, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_strip_says_where_the_car_changes()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var instructor = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        Assert.DoesNotContain("Change to the", await ReadAsync(instructor, "/diary/day"), StringComparison.Ordinal);
        var other = await host.Data.CarAsync(day.Marigold.Id, School.Core.Cars.Gearbox.Automatic);
        await host.WithDbAsync(db => db.Set<Lesson>().Where(l => l.Id == day.Tight.Id).ExecuteUpdateAsync(set => set.SetProperty(l => l.CarId, other.Id)));
        var strip = await ReadAsync(instructor, "/diary/day");
        Assert.Contains($"Change to the {other.Label}, automatic", strip, StringComparison.Ordinal);
        Assert.Contains($"Change to the {day.Car.Label}, manual", strip, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_board_shows_every_instructor_and_the_list_every_lesson()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host, others: 2);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var board = await ReadAsync(office, "/diary/board");
        foreach (var words in new[] { "Alder Quince", "Bryony Tallis", "Marigold Ashby", "Needs attention", "dentist", "missed", "2 missed" })
        {
            Assert.Contains(words, board, StringComparison.Ordinal);
        }

        Assert.Contains("1 needs attention", await ReadAsync(office, "/diary/attention?handler=Beside"), StringComparison.Ordinal);
        var list = await ReadAsync(office, "/diary/board?view=list");
        Assert.True(list.IndexOf("Tamsin Oakley", StringComparison.Ordinal) < list.IndexOf("Marlo Fenn", StringComparison.Ordinal));
        using var instructor = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        Assert.NotEqual(HttpStatusCode.OK, (await instructor.GetAsync("/diary/board")).StatusCode);
    }

    private static async Task<string> ReadAsync(HttpClient browser, string page)
    {
        var answer = await browser.GetAsync(page);
        var text = await answer.TextAsync();
        Assert.True(answer.StatusCode == HttpStatusCode.OK, $"{page}: {(int)answer.StatusCode} {answer.Headers.Location} {text}");
        return text;
    }
}
