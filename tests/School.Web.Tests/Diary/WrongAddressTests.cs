using System.Net;
using School.Tests;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary;

/// <summary>Addresses that were cut short, typed or made up: a plain word about it and something to go on with.</summary>
public sealed class WrongAddressTests(TestPostgres postgres)
{
    private const string Today = "This address is not quite right, so you see today.";

    [Theory]
    [InlineData("/diary/day?date=2026-02-31")]
    [InlineData("/diary/day?date=soon")]
    [InlineData("/diary/day?instructorId=me")]
    [InlineData("/diary/week?date=9999-12-31")]
    [InlineData("/diary/week?date=31")]
    public async Task A_day_or_week_that_cannot_be_read_is_today(string address)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        await SaysAsync(browser, address, Today, "Monday 2 March");
    }

    [Theory]
    [InlineData("/diary/board?date=2026-02-31")]
    [InlineData("/diary/board?date=0001-01-01")]
    public async Task A_board_that_cannot_be_read_is_todays(string address)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        await SaysAsync(browser, address, Today, "Monday 2 March");
    }

    [Theory]
    [InlineData("/diary/book?from=soon", "The day in this address cannot be read, so you see the first free times.")]
    [InlineData("/diary/book?minutes=long", "cannot be used here")]
    [InlineData("/diary/book?minutes=4", "A lesson lasts from 15 to 480 minutes.")]
    [InlineData("/diary/book?with=nobody", "Free times")]
    public async Task Free_times_are_shown_whatever_the_address_says(string address, string told)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.PupilAsync(instructor: instructor.Id)));
        await SaysAsync(browser, address, told, "Tuesday 3 March");
    }

    [Theory]
    [InlineData("start=soon&minutes=60&with={0}")]
    [InlineData("start=2026-03-05T10:00:00Z&minutes=long&with={0}")]
    [InlineData("start=2026-03-05T10:00:00Z&minutes=60&with=nobody")]
    [InlineData("start=2026-03-05T10:00:00Z&minutes=60&with={0}&Places.PickUpAt=moon")]
    public async Task A_check_that_cannot_be_read_leads_back_to_the_times(string query)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var back = await browser.GetAsync("/diary/book/check?" + query.Replace("{0}", $"{instructor.Id}", StringComparison.Ordinal));
        var times = Assert.IsType<Uri>(back.Headers.Location).OriginalString;
        Assert.Matches("^/diary/book($|[?])", times);
        Assert.Equal(HttpStatusCode.OK, (await browser.GetAsync(times)).StatusCode);
    }

    [Fact]
    public async Task A_move_that_cannot_be_read_leads_back_to_the_lessons_week()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        var person = await host.Data.PersonAsync(pupil);
        using var api = await host.ApiAsAsync(person);
        using var browser = await host.PagesAsAsync(person);
        var address = $"/diary/lessons/{(await api.BookedAsync(pupil.Id, instructor.Id, London(2026, 3, 19, 10))).Id()}/move";
        Assert.Equal(address, (await browser.GetAsync($"{address}/check?start=soon")).Headers.Location?.OriginalString);
        Assert.Equal(address, (await browser.GetAsync($"{address}/check?start=2026-03-20T10:00:00Z&with=nobody")).Headers.Location?.OriginalString);
        await SaysAsync(browser, $"{address}?from=soon", "cannot be read", "Monday 16 to Sunday 22 March");
    }

    [Theory]
    [InlineData("from=soon", "From-error", "Enter a real date, such as 15 6 2027")]
    [InlineData("from=9999-12-31", "From-error", "That is too far from today. Look at the year.")]
    [InlineData("to=0001-01-01", "To-error", "That is too far from today. Look at the year.")]
    public async Task A_search_by_staff_tells_it_beside_the_field(string query, string field, string told)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync(instructor: (await host.Data.InstructorAsync()).Id);
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        await SaysAsync(browser, $"/diary/lessons/new?pupilId={pupil.Id}&{query}", field, told);
    }

    private static async Task SaysAsync(HttpClient browser, string address, params string[] told)
    {
        var answer = await browser.GetAsync(address);
        var page = await answer.TextAsync();
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.DoesNotContain("27 3 2008", page, StringComparison.Ordinal);
        foreach (var words in told)
        {
            Assert.Contains(words, page, StringComparison.OrdinalIgnoreCase);
        }
    }
}
