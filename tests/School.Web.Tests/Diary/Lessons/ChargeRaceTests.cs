using System.Net;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages;
using School.Web.Platform.Database;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Lessons;

/// <summary>The free time runs out while somebody who pressed the button in time waits for another's lock.</summary>
public sealed partial class ChargeRaceTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);
    private static readonly Instant LastFree = London(2026, 3, 3, 10);

    [Fact]
    public async Task Nobody_is_charged_by_a_button_that_said_free_while_another_holds_the_lock()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync(instructor: instructor.Id);
        var person = await host.Data.PersonAsync(pupil);
        using var api = await host.ApiAsAsync(person);
        using var browser = await host.PagesAsAsync(person);
        var id = (await api.BookedAsync(pupil.Id, instructor.Id, Thursday10)).Id();
        host.Clock.Reset(LastFree - Duration.FromSeconds(1));
        var address = $"/diary/lessons/{id}/cancel";
        var form = await HiddenAsync(browser, address);

        var answer = await WhileLockedAsync(host, pupil.Id, () => browser.PostAsync(address, new FormUrlEncodedContent(form)));

        Assert.Contains("has changed", await answer.TextAsync(), StringComparison.Ordinal);
        Assert.Equal(LessonState.Booked, await StateAsync(host, id));
        Assert.False(await host.WithDbAsync(db => db.Set<Message>().AnyAsync(m => m.AboutId == id && m.Kind == "lesson_cancelled")));
    }

    [Theory]
    [InlineData("cancel", "charge_changed")]
    [InlineData("move", "inside_move_notice")]
    public async Task Nor_by_a_call_that_gave_what_it_was_told(string act, string code)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var messages = (await school.MessagesAsync(id)).Count;
        school.Host.Clock.Reset(LastFree - Duration.FromSeconds(1));
        var told = (await school.Pupil.GetJsonAsync($"/api/v1/lessons/{id}/charge?act={act}")).Word("code");
        object body = act == "cancel" ? new { reason = "pupil", charge = told } : new { start = Text(London(2026, 3, 6, 14)), charge = told };

        var answer = await WhileLockedAsync(
            school.Host, school.PupilId, () => school.Pupil.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{id}/{act}", body));

        Assert.Equal(code, await answer.CodeAsync(HttpStatusCode.UnprocessableEntity));
        var stands = await school.Office.GetJsonAsync($"/api/v1/lessons/{id}");
        Assert.Equal(("booked", Thursday10), (stands.Word("state"), stands.Moment("start")));
        Assert.Equal(messages, (await school.MessagesAsync(id)).Count);
    }

    /// <summary>Sends it while another transaction holds the pupil's lock, which lets go when the free time is over.</summary>
    private static async Task<HttpResponseMessage> WhileLockedAsync(SchoolHost host, Guid pupil, Func<Task<HttpResponseMessage>> send) =>
        await host.WithDbAsync(async db =>
        {
            await using var other = await db.Database.BeginTransactionAsync();
            await db.LockAsync([$"pupil:{pupil}"], CancellationToken.None);
            var sent = Task.Run(send);
            while (await db.Database.SqlQuery<int>($"SELECT count(*)::int AS \"Value\" FROM pg_locks WHERE locktype = 'advisory' AND NOT granted AND database = (SELECT oid FROM pg_database WHERE datname = current_database())").SingleAsync() == 0)
            {
                Assert.False(sent.IsCompleted, "It was answered without the lock.");
                await Task.Delay(20);
            }

            host.Clock.Reset(LastFree + Duration.FromSeconds(1));
            await other.RollbackAsync();
            return await sent;
        });

    private static Task<LessonState> StateAsync(SchoolHost host, Guid id) =>
        host.WithDbAsync(db => db.Set<Lesson>().Where(l => l.Id == id).Select(l => l.State).SingleAsync());

    /// <summary>All that the form on a page sends along by itself.</summary>
    private static async Task<List<KeyValuePair<string, string>>> HiddenAsync(HttpClient browser, string page)
    {
        var html = await (await browser.GetAsync(page)).Content.ReadAsStringAsync();
        var form = html[html.LastIndexOf("<form method=\"post\"", StringComparison.Ordinal)..];
        return [.. Hidden().Matches(form).Select(input => KeyValuePair.Create(
            Name().Match(input.Value).Groups[1].Value, WebUtility.HtmlDecode(Value().Match(input.Value).Groups[1].Value)))];
    }

    [GeneratedRegex("<input[^>]*type=\"hidden\"[^>]*>")]
    private static partial Regex Hidden();

    [GeneratedRegex(" name=\"([^\"]*)\"")]
    private static partial Regex Name();

    [GeneratedRegex(" value=\"([^\"]*)\"")]
    private static partial Regex Value();
}
