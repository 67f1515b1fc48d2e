using System.Text.RegularExpressions;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Events;

/// <summary>What pages that stay open say of themselves to the script that keeps them true.</summary>
public sealed partial class LivePageTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_page_says_which_days_of_whom_it_shows_and_up_to_where_it_knows_of_changes()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var instructor = await school.Host.Data.InstructorAsync("Alder Fenwick");
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        using var own = await school.Host.PagesAsAsync(await school.Host.Data.PersonAsync(instructor));

        // 7 June begins in London at 23:00 of the sixth in UTC, in which changes are counted.
        Assert.Equal("the board||2026-06-06/2026-06-07|", await SaidAsync(office, "/diary/board?date=2026-06-07"));
        Assert.Equal("the board||2026-03-05|", await SaidAsync(office, "/diary/board?date=2026-03-05&view=list"));
        Assert.Equal($"the week||2026-03-02/2026-03-08|{instructor.Id}", await SaidAsync(own, "/diary/week?date=2026-03-05"));
        Assert.Equal($"the day||2026-03-05|{school.InstructorId}", await SaidAsync(office, $"/diary/day?date=2026-03-05&instructorId={school.InstructorId}"));
        Assert.Equal("what needs attention|||", await SaidAsync(office, "/diary/attention"));

        await using var stream = await LiveReader.OpenAsync(school.Office);
        Assert.Contains($"|{school.Host.Live().Id}|", await SaidAsync(office, "/diary/attention"), StringComparison.Ordinal);
    }

    private static async Task<string> SaidAsync(HttpClient pages, string address)
    {
        var html = await (await pages.GetAsync(address)).TextAsync();
        Assert.Matches("data-part=\"", html);
        var meta = Live().Match(html);
        Assert.True(meta.Success, html);
        return string.Join('|', meta.Groups.Values.Skip(1).Select(group => group.Value));
    }

    // An attribute without a value is left out.
    [GeneratedRegex("""<meta name="live" content="([^"]*)"(?: data-from="([^"]*)")?(?: data-days="([^"]*)")?(?: data-of="([^"]*)")?>""")]
    private static partial Regex Live();
}
