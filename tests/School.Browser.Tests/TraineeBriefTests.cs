using System.Net.Http.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;
using NodaTime;
using School.Core.Diary;
using School.Core.Syllabus;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

/// <summary>A trainee on a phone: the brief of a lesson names no motorway, and the day's supervision is kept, summed up and printed.</summary>
public sealed class TraineeBriefTests(TestPostgres postgres, Chromium chromium)
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_trainee_reads_the_brief_and_keeps_the_daily_record(bool scripts)
    {
        await using var host = await SchoolHost.ListeningAsync(postgres);
        var (trainee, sponsor) = (await host.Data.InstructorAsync("Sable Kinnear"), await host.Data.InstructorAsync("Bram Holt"));
        var pupil = await host.Data.PupilAsync(instructor: trainee.Id);
        await host.WithDbAsync(async db =>
        {
            var row = await db.Set<Instructor>().SingleAsync(i => i.Id == trainee.Id);
            (row.Registration, row.RegisteredFrom, row.RegisteredTo, row.TraineeOption) = (RegistrationKind.Trainee, new(2026, 1, 1), new(2026, 6, 30), TraineeOption.Supervision);
            return await db.SaveChangesAsync();
        });
        // All but the motorways stands at Independent: an approved instructor's brief would name them next.
        await host.TeachAsync((trainee, (await host.Data.CarAsync()).Id), pupil, 1, new(2026, 2, 23), _ => (int)SkillLevel.Independent, minutes: 60);
        using var office = await Api.OfListeningAsync(host, await host.Data.OfficeAsync());
        var start = new LocalDateTime(2026, 3, 2, 14, 0).InZoneStrictly(SchoolHost.London).ToInstant();
        (await office.PostAsJsonAsync("/api/v1/lessons", new { pupilId = pupil.Id, instructorId = trainee.Id, start = start.ToString(), minutes = 60 })).EnsureSuccessStatusCode();
        await using var walk = await Walk.StartAsync(chromium, host.Url, Screen.Phone with { JavaScript = scripts });
        await walk.SignInAsync(await host.Data.PersonAsync(trainee));

        await walk.Page.GotoAsync("/");
        await walk.PressAsync("Brief");
        await Assertions.Expect(walk.Page.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToContainTextAsync(pupil.Name);
        await Assertions.Expect(walk.Page.Locator("main")).ToContainTextAsync("Not on a motorway.");
        await Assertions.Expect(walk.Page.Locator("main")).Not.ToContainTextAsync("You will drive on a motorway");
        await FitsAsync();

        await walk.Page.GotoAsync("/diary/hours");
        await walk.PressAsync("Daily record of supervision");
        await Assertions.Expect(walk.Page.Locator("main")).ToContainTextAsync("12 min too little so far");
        await FitsAsync();
        await walk.Page.GetByLabel("Day").FillAsync("2026-02-23");
        await walk.Page.GetByLabel("Sat in for").FillAsync("15");
        await walk.Page.GetByLabel("Who sat in").SelectOptionAsync(sponsor.Name);
        await walk.PressAsync("Keep this day");
        await Assertions.Expect(walk.Page.GetByRole(AriaRole.Status)).ToContainTextAsync("15 min by Bram Holt");
        await Assertions.Expect(walk.Page.Locator("main")).ToContainTextAsync("25.0 %");
        await FitsAsync();
        if (scripts)
        {
            await walk.Page.EmulateMediaAsync(new() { Media = Media.Print });
            await Assertions.Expect(walk.Page.GetByText("Who sat in signs")).ToBeVisibleAsync();
            await Assertions.Expect(walk.Page.GetByText("Keep this day")).ToBeHiddenAsync();
        }

        async Task FitsAsync()
        {
            await walk.ExpectAccessibleAsync();
            await walk.ExpectNoSidewaysScrollAsync();
        }
    }
}
