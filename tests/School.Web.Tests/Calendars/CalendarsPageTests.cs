using System.Net;
using System.Text.RegularExpressions;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests.Calendars;

public sealed partial class CalendarsPageTests(TestPostgres postgres)
{
    private const string Page = "/calendars";

    [Fact]
    public async Task A_pupil_makes_an_address_sees_it_once_and_revokes_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(school.Pupil));

        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(Page, $"{Page}?handler=Make", ("Detail", "full"), ("HideCancelled", "false"))).StatusCode);

        var shown = await (await browser.GetAsync(Page)).TextAsync();
        var url = Address().Match(shown).Value;
        Assert.NotEmpty(url);
        Assert.Contains($"href=\"webcal://{url["https://".Length..]}\"", shown, StringComparison.Ordinal);
        // PNG signature (ISO/IEC 15948 section 5.2) in base64.
        Assert.Contains("src=\"data:image/png;base64,iVBORw0KGgo", shown, StringComparison.Ordinal);
        Assert.Contains("a day to show a change", shown, StringComparison.Ordinal);
        Assert.Equal("Driving lesson with Marigold", Assert.Single((await host.CalendarAsync(url)).Events).Summary);

        var later = await (await browser.GetAsync(Page)).TextAsync();
        Assert.DoesNotMatch(Address(), later);
        Assert.DoesNotContain("Lessons of", later, StringComparison.Ordinal);
        Assert.DoesNotContain("Initials and area only", later, StringComparison.Ordinal);
        var revoke = Revoke().Match(later).Groups[1].Value;
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(Page, revoke)).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await host.ReadAsync(url)).StatusCode);
        Assert.Contains("None yet", await (await browser.GetAsync(Page)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_office_chooses_whose_lessons_and_is_told_when_it_did_not()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Contains($"value=\"car:{school.Car.Id}\"", await browser.GetStringAsync(Page), StringComparison.Ordinal);

        var refused = await browser.PostFormAsync(Page, $"{Page}?handler=Make", ("Detail", "busy"), ("Subject", ""));
        Assert.Equal(HttpStatusCode.OK, refused.StatusCode);
        Assert.Contains("Choose whose lessons it shows.", await refused.TextAsync(), StringComparison.Ordinal);

        var made = await browser.PostFormAsync(Page, $"{Page}?handler=Make", ("Detail", "busy"), ("Subject", $"instructor:{school.Instructor.Id}"));
        Assert.Equal(HttpStatusCode.Redirect, made.StatusCode);
        Assert.Equal("Busy", Assert.Single((await host.CalendarAsync(Address().Match(await (await browser.GetAsync(Page)).TextAsync()).Value)).Events).Summary);
    }

    [Fact]
    public async Task Nobody_makes_or_revokes_for_somebody_else_through_the_page()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var school = await Larkfield.OnAsync(host);
        var url = await school.OwnFeedAsync();
        var id = await host.WithDbAsync(async db => { await Task.Yield(); return db.Set<Modules.Calendars.Feed>().Single().Id; });
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(school.Pupil));

        Assert.Equal(HttpStatusCode.OK, (await browser.PostFormAsync(Page, $"{Page}?handler=Revoke&id={id}")).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await host.ReadAsync(url)).StatusCode);

        // What a pupil may not choose is not looked at: the address is for their own lessons.
        await browser.PostFormAsync(Page, $"{Page}?handler=Make", ("Detail", "full"), ("Subject", $"instructor:{school.Instructor.Id}"));
        Assert.Contains("Tamsin Oakley", await (await browser.GetAsync(Page)).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(1, await host.WithDbAsync(async db => { await Task.Yield(); return db.Set<Modules.Calendars.Feed>().Count(f => f.PupilId == school.Pupil.Id); }));
    }

    [GeneratedRegex("https://localhost/calendar/[A-Za-z0-9_-]{43}\\.ics")]
    private static partial Regex Address();

    [GeneratedRegex("action=\"(/calendars[^\"]*handler=Revoke[^\"]*)\"")]
    private static partial Regex Revoke();
}
