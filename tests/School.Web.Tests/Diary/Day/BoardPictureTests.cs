using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using School.Tests;
using School.Web.Modules.School;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Day;

public sealed partial class BoardPictureTests(TestPostgres postgres)
{
    private const int MostBytes = 80 * 1024;

    [Fact]
    public async Task A_board_of_thirty_instructors_stays_under_80_KB()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await FullBoard.SeedAsync(host, 30);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = await (await office.GetAsync("/diary/board")).Content.ReadAsByteArrayAsync(TestContext.Current.CancellationToken);
        var text = System.Text.Encoding.UTF8.GetString(page);

        Assert.Equal(30, Lanes().Count(text));
        Assert.Equal(120, Plates().Count(text));
        Assert.True(page.Length < MostBytes, $"{page.Length} bytes");
        TestContext.Current.TestOutputHelper?.WriteLine($"{page.Length} bytes");
    }

    [Fact]
    public async Task The_board_draws_drives_time_off_openings_and_what_cannot_take_place()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await FullBoard.SeedAsync(host, 2);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = await (await office.GetAsync("/diary/board")).TextAsync();

        Assert.Contains("<title>Joss Tallis, 15:00 to 16:30, booked, Harbour Street</title>", page, StringComparison.Ordinal);
        Assert.Contains("15:00 to 16:30, booked, in time off, Harbour Street</title>", page, StringComparison.Ordinal);
        Assert.Contains("class=\"cannot\"", page, StringComparison.Ordinal);
        Assert.Contains("<title>Off 14:00–18:00, first-aid day</title>", page, StringComparison.Ordinal);
        Assert.Matches("Free 1[67]:[0-9]{2} to 18:00, room for 60[^\"<]*: book</title>", page);
        Assert.Matches("<text x=\"[0-9.]+%\">[0-9]+</text>", page);
        Assert.Equal(2, Regex.Count(page, "class=\"now\""));
        Assert.Contains(">12:20</text>", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_board_turns_to_any_day_and_keeps_the_list()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await FullBoard.SeedAsync(host, 1);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var list = await (await office.GetAsync("/diary/board?view=list&date=2026-03-03")).TextAsync();
        Assert.Contains("<input type=\"date\" name=\"date\" value=\"2026-03-03\">", list, StringComparison.Ordinal);
        Assert.Contains("<input type=\"hidden\" name=\"view\" value=\"list\">", list, StringComparison.Ordinal);
        Assert.Contains("href=\"/diary/board?date=2026-03-02&view=list\" rel=\"prev\"", list, StringComparison.Ordinal);
        Assert.Contains("href=\"/diary/board?date=2026-03-04&view=list\" rel=\"next\"", list, StringComparison.Ordinal);
        Assert.DoesNotContain("class=\"lanes\"", list, StringComparison.Ordinal);
        Assert.Contains("room for 60", list, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_week_has_a_lane_a_day_and_a_list_of_the_same_rows()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var day = await LarkfieldMonday.SeedAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(day.Marigold));
        var week = await (await browser.GetAsync("/diary/week")).TextAsync();
        Assert.Equal(7, Lanes().Count(week));
        Assert.Contains("<bdi>Mon 2 today</bdi>", week, StringComparison.Ordinal);
        Assert.Single(Regex.Matches(week, "class=\"today\""));
        var list = await (await browser.GetAsync("/diary/week?view=list")).TextAsync();
        Assert.Contains("<bdi>Wren Castellan</bdi>", list, StringComparison.Ordinal);
        Assert.Contains("Mon 2 today", list, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_picture_follows_the_twelve_hour_clock_of_the_school()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await FullBoard.SeedAsync(host, 1);
        await host.WithDbAsync(db => db.Set<SchoolProfile>().ExecuteUpdateAsync(set => set.SetProperty(school => school.TwelveHourClock, true)));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var page = await (await office.GetAsync("/diary/board")).TextAsync();
        Assert.Contains("3:00 pm to 4:30 pm", page, StringComparison.Ordinal);
        Assert.Contains(">12:20 pm</text>", page, StringComparison.Ordinal);
        Assert.DoesNotContain("15:00", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_bites_first_stands_beside_the_board()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await FullBoard.SeedAsync(host, 2);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var beside = await (await office.GetAsync("/diary/attention?handler=Beside")).TextAsync();
        Assert.Matches("<li class=\"urgent\"><b class=\"by\">today</b>", beside);
        Assert.Contains("Find cover", beside, StringComparison.Ordinal);
        Assert.DoesNotContain("<html", beside, StringComparison.Ordinal);
    }

    [GeneratedRegex("<svg class=\"lane\"")]
    private static partial Regex Lanes();

    [GeneratedRegex("<a class=\"(?:booked|now|taught|missed|open|cannot|test)\"")]
    private static partial Regex Plates();
}
