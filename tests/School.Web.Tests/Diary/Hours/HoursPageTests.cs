using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Hours;

public sealed class HoursPageTests(TestPostgres postgres)
{
    private const string Span = "/diary/hours-span";

    [Fact]
    public async Task Hours_for_several_days_come_all_or_none()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        await host.WithDbAsync(db => db.Set<WorkingHoursRow>().Where(h => h.Day != IsoDayOfWeek.Wednesday).ExecuteDeleteAsync());
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(instructor));

        var clash = await browser.PostFormAsync(Span, Hours("09:00", "12:00", "Tuesday", "Wednesday"));
        var text = await clash.TextAsync();
        Assert.Contains("These hours overlap others on Wednesday.", text, StringComparison.Ordinal);
        Assert.Contains("Input_Start-error", text, StringComparison.Ordinal);
        Assert.Contains("value=\"09:00\"", text, StringComparison.Ordinal);
        Assert.Equal(1, await CountAsync(host));

        var saved = await browser.PostFormAsync(Span, Hours("09:00", "12:00", "Monday", "Tuesday"));
        Assert.Equal("/diary/hours", saved.Headers.Location?.ToString());
        Assert.Equal(3, await CountAsync(host));
    }

    [Theory]
    [InlineData("12:00", "09:00", "Input_End-error", "The end must be later than the start.")]
    [InlineData("25:00", "26:00", "Input_Start-error", "Enter a real time")]
    [InlineData("", "12:00", "Input_Start-error", "Enter a start time.")]
    public async Task Hours_that_cannot_be_are_told_beside_the_field(string start, string end, string place, string told)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        var text = await (await browser.PostFormAsync(Span, Hours(start, end, "Monday"))).TextAsync();
        Assert.Contains(place, text, StringComparison.Ordinal);
        Assert.Contains(told, text, StringComparison.OrdinalIgnoreCase);
    }

    [Fact]
    public async Task Ending_hours_tells_which_booked_lessons_are_left_outside()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        var row = await host.WithDbAsync(db => db.Set<WorkingHoursRow>().AsNoTracking().SingleAsync(h => h.Day == IsoDayOfWeek.Monday));

        var saved = await browser.PostFormAsync($"{Span}/{row.Id}", Hours("08:00", "17:00", "Monday"));
        Assert.Equal(HttpStatusCode.Redirect, saved.StatusCode);
        var page = await (await browser.GetAsync("/diary/hours")).TextAsync();
        Assert.Contains("1 booked lesson now outside them", page, StringComparison.Ordinal);
        Assert.Contains("Marlo Fenn, Monday 2 March, 15:45", page, StringComparison.Ordinal);

        var stale = await browser.PostFormAsync($"{Span}/{row.Id}", Hours("08:00", "18:00", "Monday"));
        Assert.Contains("Somebody changed this after you opened it", await stale.TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Time_off_is_changed_on_the_form_it_was_entered_on()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(instructor));
        await browser.PostFormAsync("/diary/time-off", ("Input.FirstDay", "2026-03-05"), ("Input.LastDay", "2026-03-06"), ("Input.Reason", "Walking"));
        var row = await host.WithDbAsync(db => db.Set<TimeOffRow>().AsNoTracking().SingleAsync());
        var change = $"/diary/time-off?instructorId={instructor.Id}&id={row.Id}";
        Assert.Contains(change, await (await browser.GetAsync("/diary/hours")).TextAsync(), StringComparison.Ordinal);
        var form = await (await browser.GetAsync(change)).TextAsync();
        Assert.Contains("value=\"2026-03-06\"", form, StringComparison.Ordinal);
        Assert.Contains("value=\"Walking\"", form, StringComparison.Ordinal);

        (string, string)[] shorter = [("Input.FirstDay", "2026-03-05"), ("Input.FromTime", "12:00"), ("Input.Reason", "Walking"), ("Version", "1")];
        Assert.Equal("/diary/hours", (await browser.PostFormAsync(change, shorter)).Headers.Location?.ToString());
        Assert.Contains("12:00 to the end of Thursday 5 March", await (await browser.GetAsync("/diary/hours")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Somebody changed this after you opened it", await (await browser.PostFormAsync(change, shorter)).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<TimeOffRow>().CountAsync()));
    }

    [Fact]
    public async Task Hours_and_time_off_are_drawn_for_the_weeks_ahead()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        host.Clock.Reset(LarkfieldMonday.At(12, 0) + Duration.FromDays(1));
        var instructor = await host.Data.InstructorAsync();
        await host.WithDbAsync(db => db.Set<WorkingHoursRow>().Where(h => h.Day == IsoDayOfWeek.Sunday).ExecuteDeleteAsync());
        await host.WithDbAsync(db => db.Set<WorkingHoursRow>().Where(h => h.Day == IsoDayOfWeek.Saturday).ExecuteUpdateAsync(set => set.SetProperty(h => h.From, new LocalDate(2026, 3, 14))));
        await host.AddAsync(new TimeOffRow { InstructorId = instructor.Id, StartsAt = DiaryApi.London(2026, 3, 5, 13), EndsAt = DiaryApi.London(2026, 3, 7, 0), Reason = "Walking" });
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(instructor));
        var page = await (await browser.GetAsync("/diary/hours")).TextAsync();
        Assert.Contains("<td data-day=\"Mon 2\"><span class=\"unseen\">over</span></td>", page, StringComparison.Ordinal);
        Assert.Contains("href=\"day?date=2026-03-04\" aria-label=\"Wed 4, 10 h\"", page, StringComparison.Ordinal);
        Assert.Contains("aria-label=\"Thu 5, 5 h, off for a part\"><svg height=\"14\"><rect class=\"hatched\" x=\"50%\" width=\"50%\"", page, StringComparison.Ordinal);
        Assert.Contains("aria-label=\"Fri 6, off\"", page, StringComparison.Ordinal);
        Assert.Contains("<td data-day=\"Sat 7\"><span class=\"unseen\">not working</span></td>", page, StringComparison.Ordinal);
        Assert.Contains("aria-label=\"Sat 14, 10 h\"", page, StringComparison.Ordinal);
        // Tuesday to Friday of this week: two days, and half of one.
        Assert.Contains("<b>25</b> of 40 h", page, StringComparison.Ordinal);
        Assert.Contains("<b>60</b> of 60 h", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_time_that_the_clock_change_skips_is_told_beside_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        // Summer time began on Sunday 29 March 2026 at 01:00 UTC (Summer Time Order 2002, SI 2002/262).
        var text = await (await browser.PostFormAsync("/diary/time-off", ("Input.FirstDay", "2026-03-29"), ("Input.FromTime", "01:30"), ("Input.Reason", "night drive"))).TextAsync();
        Assert.Contains("Input_FromTime-error", text, StringComparison.Ordinal);
        Assert.Contains("There is no 01:30 on Sunday 29 March 2026", text, StringComparison.Ordinal);
        Assert.Contains("night drive", text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Whole_days_off_run_from_midnight_to_midnight_and_tell_the_lessons_in_them()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        await browser.PostFormAsync("/diary/time-off", ("Input.FirstDay", "2026-03-02"), ("Input.LastDay", "2026-03-03"));
        var off = await host.WithDbAsync(db => db.Set<TimeOffRow>().AsNoTracking().SingleAsync());
        Assert.Equal((DiaryApi.London(2026, 3, 2, 0), DiaryApi.London(2026, 3, 4, 0)), (off.StartsAt, off.EndsAt));
        var page = await (await browser.GetAsync("/diary/hours")).TextAsync();
        Assert.Contains("3 booked lessons in it", page, StringComparison.Ordinal);
        Assert.Contains("The instructor is off at that time.", page, StringComparison.Ordinal);

        await browser.PostFormAsync("/diary/hours", "/diary/hours?handler=RemoveTimeOff", ("timeOffId", $"{off.Id}"));
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<TimeOffRow>().CountAsync()));
    }

    [Fact]
    public async Task Time_off_that_ends_before_it_begins_is_refused_beside_the_field()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        var times = await (await browser.PostFormAsync("/diary/time-off", ("Input.FirstDay", "2026-03-05"), ("Input.FromTime", "12:00"), ("Input.UntilTime", "11:00"))).TextAsync();
        Assert.Contains("Input_UntilTime-error", times, StringComparison.Ordinal);
        var days = await (await browser.PostFormAsync("/diary/time-off", ("Input.FirstDay", "2026-03-05"), ("Input.LastDay", "2026-03-04"))).TextAsync();
        Assert.Contains("Input_LastDay-error", days, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Time_off_that_is_over_is_refused_beside_the_field()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        var oneDay = await (await browser.PostFormAsync("/diary/time-off", ("Input.FirstDay", "2026-03-01"))).TextAsync();
        Assert.Contains("Input_FirstDay-error\">This time is already past.", oneDay, StringComparison.Ordinal);
        var more = await (await browser.PostFormAsync("/diary/time-off", ("Input.FirstDay", "2026-02-27"), ("Input.LastDay", "2026-03-01"))).TextAsync();
        Assert.Contains("Input_LastDay-error\">This time is already past.", more, StringComparison.Ordinal);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<TimeOffRow>().CountAsync()));
        foreach (var label in new[] { "First day", "Start time (optional)", "Last day (optional)", "End time (optional)" })
        {
            Assert.Contains($">{label}</label>", more, StringComparison.Ordinal);
        }

        // Illness that goes on is entered from its first day.
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync("/diary/time-off", ("Input.FirstDay", "2026-02-27"), ("Input.LastDay", "2026-03-02"))).StatusCode);
    }

    [Fact]
    public async Task Time_off_until_midnight_ends_with_the_day_before()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        await browser.PostFormAsync("/diary/time-off", ("Input.FirstDay", "2026-03-05"), ("Input.FromTime", "13:00"), ("Input.LastDay", "2026-03-06"));
        await browser.PostFormAsync("/diary/time-off", ("Input.FirstDay", "2026-03-09"));
        var page = await (await browser.GetAsync("/diary/hours")).TextAsync();
        Assert.Contains("Thursday 5 March, 13:00 to the end of Friday 6 March", page, StringComparison.Ordinal);
        Assert.Contains("Monday 9 March, all day", page, StringComparison.Ordinal);
        Assert.Contains("Off from 13:00", await (await browser.GetAsync("/diary/day?date=2026-03-05")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Off all day", await (await browser.GetAsync("/diary/day?date=2026-03-06")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Off all day", await (await browser.GetAsync("/diary/day?date=2026-03-09")).TextAsync(), StringComparison.Ordinal);
    }

    private static (string, string)[] Hours(string start, string end, params string[] days) =>
    [
        .. days.Select(day => ("Input.Days", day)), ("Input.Start", start), ("Input.End", end), ("Input.From", "2026-03-02"), ("Input.To", ""), ("Input.Version", "1"),
    ];

    private static Task<int> CountAsync(SchoolHost host) => host.WithDbAsync(db => db.Set<WorkingHoursRow>().CountAsync());
}
