using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Travel;
using School.Web.Tests.Host;

namespace School.Web.Tests.Travel;

public sealed class DriveTapsTests(TestPostgres postgres)
{
    private const string Day = "/diary/day";
    private const string Tap = "/diary/drive";

    [Fact]
    public async Task Two_taps_between_lessons_record_the_drive_and_nothing_is_asked_during_one()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var monday = await LarkfieldMonday.SeedAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(monday.Marigold));
        Assert.DoesNotContain("Leaving now", await browser.GetStringAsync(Day), StringComparison.Ordinal);

        host.Clock.Reset(LarkfieldMonday.At(11, 31));
        var between = await browser.GetStringAsync(Day);
        Assert.Contains("Leaving now for <span dir=\"auto\">Harbour Street", between, StringComparison.Ordinal);
        Assert.True(between.IndexOf("Park safely and legally first", StringComparison.Ordinal) < between.IndexOf("Leaving now for", StringComparison.Ordinal));
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(Day, Tap, ("tap", "leave"))).StatusCode);
        host.Clock.Reset(LarkfieldMonday.At(11, 43));
        Assert.Contains("Arrived at <span dir=\"auto\">Harbour Street", await browser.GetStringAsync(Day), StringComparison.Ordinal);
        await browser.PostFormAsync(Day, Tap, ("tap", "arrived"));
        Assert.Contains("Drive recorded: 12 min.", await browser.GetStringAsync(Day), StringComparison.Ordinal);
        var drive = await host.WithDbAsync(db => db.Set<RecordedDrive>().SingleAsync());
        Assert.Equal(("Quarry Rise", "Harbour Street", LarkfieldMonday.At(11, 31), (Instant?)LarkfieldMonday.At(11, 43)), (drive.FromLabel, drive.ToLabel, drive.LeftAt, drive.ArrivedAt));
    }

    [Fact]
    public async Task A_tap_during_a_lesson_records_nothing_and_a_forgotten_arrival_is_dropped()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var monday = await LarkfieldMonday.SeedAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(monday.Marigold));
        host.Clock.Reset(LarkfieldMonday.At(11, 31));
        await browser.PostFormAsync(Day, Tap, ("tap", "leave"));
        host.Clock.Reset(LarkfieldMonday.At(11, 50));
        Assert.DoesNotContain("Arrived at", await browser.GetStringAsync(Day), StringComparison.Ordinal);
        await browser.PostFormAsync("/people/account", Tap, ("tap", "arrived"));
        Assert.Contains("A lesson is on, so nothing was recorded.", await browser.GetStringAsync(Day), StringComparison.Ordinal);

        host.Clock.Reset(LarkfieldMonday.At(12, 50));
        Assert.Contains("Leaving now for <span dir=\"auto\">Fernhill School", await browser.GetStringAsync(Day), StringComparison.Ordinal);
        await browser.PostFormAsync(Day, Tap, ("tap", "leave"));
        var drive = await host.WithDbAsync(db => db.Set<RecordedDrive>().SingleAsync());
        Assert.Equal(("Fernhill School", (Instant?)null), (drive.ToLabel, drive.ArrivedAt));
        await browser.PostFormAsync(Day, Tap, ("tap", "forget"));
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<RecordedDrive>().CountAsync()));
    }

    [Fact]
    public async Task The_office_and_other_days_are_not_asked()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var monday = await LarkfieldMonday.SeedAsync(host);
        host.Clock.Reset(LarkfieldMonday.At(11, 31));
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var theirs = await office.GetStringAsync($"{Day}?instructorId={monday.Marigold.Id}");
        Assert.DoesNotContain("Leaving now for", theirs, StringComparison.Ordinal);
        Assert.DoesNotContain("action=\"/diary/drive\"", theirs, StringComparison.Ordinal);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(monday.Marigold));
        Assert.DoesNotContain("Leaving now", await browser.GetStringAsync($"{Day}?date=2026-03-09"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_instructor_deletes_only_their_own_drives()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (mine, other) = (await host.Data.InstructorAsync(), await host.Data.InstructorAsync("Alder Quince"));
        var (own, foreign) = (Drive(mine.Id), Drive(other.Id));
        await host.AddAsync(own, foreign);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(mine));
        const string Page = "/travel/drives";
        Assert.Equal(HttpStatusCode.NotFound, (await browser.PostFormAsync(Page, ("instructorId", $"{other.Id}"), ("legId", $"{foreign.Id}"))).StatusCode);
        await browser.PostFormAsync(Page, ("instructorId", $"{mine.Id}"), ("legId", $"{foreign.Id}"));
        Assert.Equal(2, await host.WithDbAsync(db => db.Set<RecordedDrive>().CountAsync()));
        await browser.PostFormAsync(Page, ("instructorId", $"{mine.Id}"), ("legId", $"{own.Id}"));
        Assert.Equal(foreign.Id, (await host.WithDbAsync(db => db.Set<RecordedDrive>().SingleAsync())).Id);

        RecordedDrive Drive(Guid id) => new()
        {
            InstructorId = id,
            FromLabel = "Mill Lane",
            FromLatitude = 52.4,
            FromLongitude = -1.2,
            ToLabel = "Kiln Road",
            ToLatitude = 52.5,
            ToLongitude = -1.2,
            LeftAt = host.Clock.GetCurrentInstant() - Duration.FromMinutes(30),
            ArrivedAt = host.Clock.GetCurrentInstant() - Duration.FromMinutes(10),
        };
    }
}
