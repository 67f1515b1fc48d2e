using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Settings;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Day;

public sealed class OfficePagesTests(TestPostgres postgres)
{
    [Fact]
    public async Task Attention_lists_what_waits_and_forgets_what_was_put_right()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        await SetMotAsync(host, day.Car.Id, new(2026, 3, 20));
        host.Clock.Reset(LarkfieldMonday.At(11, 31));
        var office = await host.Data.OfficeAsync();
        using var browser = await host.PagesAsAsync(office);
        using var api = await host.ApiAsAsync(office);

        var page = await (await browser.GetAsync("/diary/attention")).TextAsync();
        Assert.Contains("the MOT runs out on 20 March 2026", page, StringComparison.Ordinal);
        Assert.Contains($"href=\"/cars/{day.Car.Id}\"", page, StringComparison.Ordinal);
        Assert.Contains("Wren Castellan with Marigold Ashby, Monday 2 March, 11:45", page, StringComparison.Ordinal);
        Assert.Contains("Lessons not recorded yet", page, StringComparison.Ordinal);
        Assert.Contains($"href=\"/syllabus/lessons/{day.OnNow.Id}/record\"", page, StringComparison.Ordinal);
        var kinds = (await api.GetJsonAsync("/api/v1/attention")).GetProperty("items").EnumerateArray().Select(item => item.Word("kind")).ToList();
        Assert.Equal(["impossible_lesson", "unrecorded_lesson", "car_paper"], kinds);

        await SetMotAsync(host, day.Car.Id, new(2027, 3, 20));
        await browser.PostFormAsync($"/syllabus/lessons/{day.OnNow.Id}/record", ("Input.MinutesTaught", "75"), ("Input.Version", "1"));
        var after = await (await browser.GetAsync("/diary/attention")).TextAsync();
        Assert.DoesNotContain("the MOT", after, StringComparison.Ordinal);
        Assert.DoesNotContain("Lessons not recorded yet", after, StringComparison.Ordinal);
        Assert.Contains("Wren Castellan", after, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_quiet_school_is_told_that_nothing_waits()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Contains("Nothing waits for you", await (await browser.GetAsync("/diary/attention")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("No instructors yet", await (await browser.GetAsync("/diary/board")).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Booking_rules_are_saved_or_told_beside_their_fields()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var wrong = await (await browser.PostFormAsync("/diary/settings", Rules("60, lots", grid: "7"))).TextAsync();
        Assert.Contains("Input_LessonMinutes-error", wrong, StringComparison.Ordinal);
        Assert.Contains("60, lots", wrong, StringComparison.Ordinal);
        Assert.Contains("Input_GridMinutes-error", await (await browser.PostFormAsync("/diary/settings", Rules("60", grid: "7"))).TextAsync(), StringComparison.Ordinal);

        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync("/diary/settings", Rules("45, 60", grid: "30"))).StatusCode);
        var rules = (await host.WithDbAsync(db => db.Set<DiarySettings>().AsNoTracking().SingleAsync())).Rules;
        Assert.Equal([45, 60], rules.LessonMinutes);
        Assert.True(rules.LastLegIsWork);
        Assert.Contains("Somebody changed this", await (await browser.PostFormAsync("/diary/settings", Rules("45", grid: "30"))).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Holidays_are_added_once_and_removed()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        const string Page = "/diary/holidays?nation=scotland";
        (string, string)[] fair = [("Input.Date", "2026-07-20"), ("Input.Name", "Larkfield fair")];
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(Page, fair)).StatusCode);
        Assert.Contains("Larkfield fair", await (await browser.GetAsync(Page)).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.OK, (await browser.PostFormAsync(Page, fair)).StatusCode);
        Assert.Contains("Input_Name-error", await (await browser.PostFormAsync(Page, ("Input.Date", "2026-07-21"), ("Input.Name", ""))).TextAsync(), StringComparison.Ordinal);

        await browser.PostFormAsync(Page, "/diary/holidays?nation=scotland&handler=Remove", ("date", "2026-07-20"));
        await browser.GetAsync(Page);
        Assert.DoesNotContain("Larkfield fair", await (await browser.GetAsync(Page)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Staff_who_find_no_time_are_told_what_would_help()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host, others: 1);
        await host.AddAsync(new TimeOffRow
        {
            InstructorId = day.Marigold.Id,
            StartsAt = DiaryApi.London(2026, 3, 3, 0),
            EndsAt = DiaryApi.London(2026, 3, 5, 0),
            Reason = "course",
        });
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var search = $"/diary/lessons/new?pupilId={day.Idris.Id}&instructorId={day.Marigold.Id}&minutes=60&to=2026-03-04&from=";
        var page = await (await office.GetAsync($"{search}2026-03-03")).TextAsync();
        Assert.Contains("No time fits", page, StringComparison.Ordinal);
        Assert.Contains("The instructor is off at these times.", page, StringComparison.Ordinal);
        Assert.Contains("With another instructor: Tuesday 3 March, 08:00.", page, StringComparison.Ordinal);
        Assert.Contains("The next time that fits is Thursday 5 March, 08:00.", page, StringComparison.Ordinal);
        Assert.DoesNotContain("minute lesson would fit", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Staff_are_offered_times_with_what_each_does_to_the_day()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host, others: 1);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = await (await office.GetAsync($"/diary/lessons/new?pupilId={day.Idris.Id}&from=2026-03-03&to=2026-03-05")).TextAsync();
        Assert.Contains("more driving", page, StringComparison.Ordinal);
        Assert.Contains("Alder Quince", page, StringComparison.Ordinal);
        Assert.Contains($"/diary/book/check?pupil={day.Idris.Id}&start=2026-03-", page, StringComparison.Ordinal);

        using var instructor = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        var own = await (await instructor.GetAsync($"/diary/lessons/new?pupilId={day.Idris.Id}&from=2026-03-03&to=2026-03-05")).TextAsync();
        Assert.DoesNotContain("Alder Quince", own[own.IndexOf("<table", StringComparison.Ordinal)..], StringComparison.Ordinal);
        Assert.Contains("must not be before the first", await (await office.GetAsync($"/diary/lessons/new?pupilId={day.Idris.Id}&from=2026-03-05&to=2026-03-03")).TextAsync(), StringComparison.Ordinal);
    }

    private static (string, string)[] Rules(string lengths, string grid) =>
    [
        ("Version", "1"), ("Input.LessonMinutes", lengths), ("Input.GridMinutes", grid), ("Input.BufferMinutes", "5"), ("Input.NoticeToBookHours", "24"),
        ("Input.NoticeToMoveHours", "48"), ("Input.HorizonDays", "84"), ("Input.RestAfterMinutes", "120"), ("Input.RestMinutes", "15"),
        ("Input.DailyTeachingMinutes", "480"), ("Input.TraineeDailyTeachingMinutes", ""), ("Input.FirstLegIsWork", "false"), ("Input.LastLegIsWork", "true"),
        ("Input.MinimumAge", "17"), ("Input.MinimumAgeWithMobilityAward", "16"),
    ];

    private static Task<int> SetMotAsync(SchoolHost host, Guid car, LocalDate expires) => host.WithDbAsync(async db =>
    {
        (await db.Set<Car>().SingleAsync(c => c.Id == car)).MotExpires = expires;
        return await db.SaveChangesAsync();
    });
}
