using System.Net;
using Microsoft.EntityFrameworkCore;
using School.Core.Cars;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Waiting;

/// <summary>An instructor for automatics is not waited for, nor booked weekly, by who learns in a manual.</summary>
public sealed class WrongGearboxTests(TestPostgres postgres)
{
    private const string Sentence = "The instructor does not teach in manual cars. Choose another instructor.";

    [Fact]
    public async Task Waiting_list_and_weekly_lessons_refuse_what_booking_refuses_in_the_same_words()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var both = await host.Data.InstructorAsync();
        var automatic = await AutomaticOnlyAsync(host);
        var pupil = await host.Data.PupilAsync("Tamsin Oakley");
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var start = Text(London(2026, 3, 10, 10));

        await RefusedAsync(office, "/api/v1/lessons", new { pupilId = pupil.Id, instructorId = automatic, start, minutes = 60 });
        await RefusedAsync(office, "/api/v1/waiting-list", new { pupilId = pupil.Id, @for = "anyLesson", instructorId = automatic });
        await RefusedAsync(office, "/api/v1/weekly-lessons/preview", new { pupilId = pupil.Id, instructorId = automatic, start, minutes = 60, weeks = 3 });

        // With somebody who teaches in it the list takes it, and an entry is not changed to what would never be served.
        var entry = await (await office.SendJsonAsync(HttpMethod.Post, "/api/v1/waiting-list", new { pupilId = pupil.Id, @for = "anyLesson", instructorId = both.Id })).JsonAsync(HttpStatusCode.Created);
        var changed = await office.SendAsync(HttpMethod.Put, $"/api/v1/waiting-list/{entry.Id()}", new { @for = "anyLesson", instructorId = automatic }, ("If-Match", "*"));
        Assert.Equal((HttpStatusCode.UnprocessableEntity, "wrong_gearbox"), (changed.StatusCode, await changed.CodeAsync()));
    }

    [Fact]
    public async Task Pages_offer_a_pupil_those_who_teach_in_their_kind_of_car()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var both = await host.Data.InstructorAsync();
        var automatic = await AutomaticOnlyAsync(host);
        using var pages = await host.PagesAsAsync(await host.Data.PersonAsync(await host.Data.PupilAsync("Tamsin Oakley")));
        foreach (var page in new[] { "/diary/waiting", "/diary/weekly" })
        {
            var shown = await pages.GetStringAsync(page);
            Assert.Contains($"value=\"{both.Id}\"", shown, StringComparison.Ordinal);
            Assert.DoesNotContain($"value=\"{automatic}\"", shown, StringComparison.Ordinal);
        }
    }

    private static async Task RefusedAsync(HttpClient api, string address, object asked)
    {
        var refused = await api.SendJsonAsync(HttpMethod.Post, address, asked);
        Assert.Equal((HttpStatusCode.UnprocessableEntity, "wrong_gearbox"), (refused.StatusCode, await refused.CodeAsync()));
        Assert.Contains(Sentence, await refused.TextAsync(), StringComparison.Ordinal);
    }

    private static async Task<Guid> AutomaticOnlyAsync(SchoolHost host)
    {
        var instructor = await host.Data.InstructorAsync("Perrin Vale");
        await host.WithDbAsync(async db =>
        {
            (await db.Set<Instructor>().SingleAsync(i => i.Id == instructor.Id)).Teaches = [Gearbox.Automatic];
            return await db.SaveChangesAsync();
        });
        return instructor.Id;
    }
}
