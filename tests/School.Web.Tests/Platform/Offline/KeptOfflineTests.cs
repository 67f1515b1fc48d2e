using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using School.Core.Diary.Charges;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Offline;

/// <summary>A record that comes from the phone it waited on: once, as its writer, and with an answer that the phone can act on.</summary>
public sealed class KeptOfflineTests(TestPostgres postgres)
{
    private static readonly (string, string)[] Taught = [("Input.MinutesTaught", "70"), ("Input.Note", "Fine."), ("Input.Version", "1")];

    [Fact]
    public async Task A_record_that_waited_is_taken_and_told_as_sent()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var desk = await DeskAsync(host);
        var answer = await desk.SendAsync("key-1", Taught);
        Assert.Equal((HttpStatusCode.OK, "sent"), (answer.Status, answer.Outcome));
        Assert.EndsWith("/next", answer.Json.GetProperty("next").GetString(), StringComparison.Ordinal);
        Assert.StartsWith("Recorded: Idris Bell, 1 h 10 min taught.", answer.Json.GetProperty("sentence").GetString(), StringComparison.Ordinal);
        Assert.Equal((LessonState.Taught, 70, 1), await StandsAsync(host, desk));
    }

    [Fact]
    public async Task Sent_twenty_times_at_once_through_two_nodes_it_has_one_effect_and_one_answer()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await using var other = host.SecondNode();
        var first = await DeskAsync(host);
        var second = await DeskAsync(other, first);
        var answers = await Task.WhenAll(Enumerable.Range(0, 20).Select(i => (i % 2 == 0 ? first : second).SendAsync("key-1", Taught)));
        Assert.Single(answers.Select(answer => (answer.Status, answer.Json.GetRawText())).Distinct());
        Assert.Equal(19, answers.Count(answer => answer.Replayed));
        Assert.Equal((LessonState.Taught, 70, 1), await StandsAsync(host, first));
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task What_somebody_else_wrote_is_not_taken(bool names)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var desk = await DeskAsync(host);
        var answer = await desk.SendAsync("key-1", Taught, writer: names ? Guid.NewGuid().ToString() : null);
        Assert.Equal((HttpStatusCode.Conflict, "other_person"), (answer.Status, answer.Outcome));
        Assert.Equal((LessonState.Booked, null, 0), await StandsAsync(host, desk));
    }

    [Fact]
    public async Task A_lesson_changed_meanwhile_is_stale_and_the_same_key_may_ask_again()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var desk = await DeskAsync(host);
        Assert.Equal("sent", (await desk.SendAsync("key-1", Taught)).Outcome);
        (string, string)[] mine = [("Input.MinutesTaught", "60"), ("Input.Note", "Mine."), ("Input.Version", "1")];
        var stale = await desk.SendAsync("key-2", mine);
        Assert.Equal((HttpStatusCode.PreconditionFailed, "stale", "stale"), (stale.Status, stale.Outcome, stale.Json.GetProperty("code").GetString()));
        Assert.Equal("sent", (await desk.SendAsync("key-2", [.. mine[..2], ("Input.Version", "2")])).Outcome);
        Assert.Equal((LessonState.Taught, 60, 2), await StandsAsync(host, desk));
    }

    [Theory]
    [InlineData("76", "between 1 and 75")]
    [InlineData("an hour", "cannot be used here")]
    public async Task A_mistake_is_refused_beside_its_field(string minutes, string told)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var desk = await DeskAsync(host);
        var answer = await desk.SendAsync("key-1", [("Input.MinutesTaught", minutes), ("Input.Note", "Fine."), ("Input.Version", "1")]);
        Assert.Equal((HttpStatusCode.UnprocessableEntity, "refused", "invalid"), (answer.Status, answer.Outcome, answer.Json.GetProperty("code").GetString()));
        Assert.Contains(told, answer.Json.GetProperty("errors").GetProperty("Input.MinutesTaught")[0].GetString(), StringComparison.Ordinal);
        Assert.Equal((LessonState.Booked, null, 0), await StandsAsync(host, desk));
    }

    [Fact]
    public async Task A_cancelled_lesson_one_not_begun_and_one_of_somebody_else_are_refused_each_with_its_code()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var desk = await DeskAsync(host);
        var early = await desk.SendAsync("key-1", Taught, lesson: desk.Day.Tight.Id);
        Assert.Equal(("refused", "lesson_not_begun"), (early.Outcome, early.Json.GetProperty("code").GetString()));
        await host.WithDbAsync(async db =>
        {
            var lesson = await db.Set<Lesson>().SingleAsync(l => l.Id == desk.Day.OnNow.Id);
            var now = host.Clock.GetCurrentInstant();
            lesson.Cancel(CancelReason.Weather, LessonCharge.Decide(ChargeAct.Cancel, ChargeCause.Weather, lesson.StartsAt, now, new(48)), now);
            return await db.SaveChangesAsync();
        });
        var cancelled = await desk.SendAsync("key-2", [.. Taught[..2], ("Input.Version", "2")]);
        Assert.Equal(("refused", "lesson_cancelled"), (cancelled.Outcome, cancelled.Json.GetProperty("code").GetString()));

        var colleague = await DeskAsync(host, desk with { Owner = await host.Data.PersonAsync(await host.Data.InstructorAsync("Alder Quince")) });
        var foreign = await colleague.SendAsync("key-3", Taught);
        Assert.Equal((HttpStatusCode.NotFound, "refused", "not_found"), (foreign.Status, foreign.Outcome, foreign.Json.GetProperty("code").GetString()));
    }

    [Fact]
    public async Task A_skill_that_the_syllabus_does_not_have_is_refused()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var desk = await DeskAsync(host);
        var answer = await desk.SendAsync("key-1", [.. Taught, ("Input.Levels[double-declutching]", "Helped")]);
        Assert.Equal("refused", answer.Outcome);
        Assert.NotEmpty(answer.Json.GetProperty("sentence").GetString()!);
        Assert.Equal((LessonState.Booked, null, 0), await StandsAsync(host, desk));
    }

    [Fact]
    public async Task A_token_that_is_too_old_uses_up_no_key()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var desk = await DeskAsync(host);
        var without = await desk.Browser.SendAsync(Desk.Request("key-1", Taught, desk.Owner.Id.ToString(), desk.Day.OnNow.Id, token: "old"));
        Assert.Equal(HttpStatusCode.BadRequest, without.StatusCode);
        var answer = await desk.SendAsync("key-1", Taught);
        Assert.Equal(("sent", false), (answer.Outcome, answer.Replayed));
    }

    [Fact]
    public async Task A_page_fetched_ahead_holds_the_form_of_a_lesson_that_has_not_begun()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var desk = await DeskAsync(host);
        var page = $"/syllabus/lessons/{desk.Day.Tight.Id}/record";
        Assert.DoesNotContain("data-keep-offline", await (await desk.Browser.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        using var ahead = new HttpRequestMessage(HttpMethod.Get, page) { Headers = { { "School-Ahead", "1" } } };
        Assert.Contains("data-opens=\"2026-03-02T11:45:00Z\"", await (await desk.Browser.SendAsync(ahead)).TextAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Only_those_who_record_lessons_learn_who_would_be_sending()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var desk = await DeskAsync(host);
        using var pupil = await host.PagesAsAsync(await host.Data.PersonAsync(desk.Day.Idris));
        Assert.StartsWith("/people/not-allowed", (await pupil.GetAsync("/syllabus/queue/sender")).Headers.Location?.OriginalString, StringComparison.Ordinal);
        using var nobody = host.Browser();
        Assert.StartsWith("/people/sign-in", (await nobody.GetAsync("/syllabus/queue/sender")).Headers.Location?.OriginalString, StringComparison.Ordinal);
        var sender = await desk.Browser.GetAsync("/syllabus/queue/sender");
        Assert.Equal("no-store", sender.Headers.CacheControl?.ToString().Split(',')[0]);
        Assert.Equal(desk.Owner.Id, JsonDocument.Parse(await sender.Content.ReadAsStringAsync()).RootElement.GetProperty("personId").GetGuid());
    }

    [Theory]
    [InlineData("/people/sign-out", "", "\"cache\", \"storage\"")]
    [InlineData("/people/sign-out", "true", "\"cache\"")]
    [InlineData("/people/sign-out-everywhere", "", "\"cache\", \"storage\"")]
    [InlineData("/people/sign-out-everywhere", "true", "\"cache\"")]
    public async Task Signing_out_has_the_browser_forget_what_it_kept(string page, string keepUnsent, string cleared)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var desk = await DeskAsync(host);
        var answer = await desk.Browser.PostFormAsync(page, [.. keepUnsent.Length > 0 ? new[] { ("keepUnsent", keepUnsent) } : []]);
        Assert.Equal(cleared, answer.Headers.GetValues("Clear-Site-Data").Single());
    }

    private static async Task<(LessonState State, int? Minutes, int Times)> StandsAsync(SchoolHost host, Desk desk) => await host.WithDbAsync(async db =>
    {
        var lesson = await db.Set<Lesson>().AsNoTracking().SingleAsync(l => l.Id == desk.Day.OnNow.Id);
        return (lesson.State, lesson.MinutesTaught, await db.Set<LessonChange>().CountAsync(c => c.LessonId == lesson.Id && c.Kind == ChangeKind.Recorded));
    });

    private static async Task<Desk> DeskAsync(SchoolHost host, Desk? like = null)
    {
        var day = like?.Day ?? await LarkfieldMonday.SeedAsync(host);
        host.Clock.Reset(LarkfieldMonday.At(11, 31));
        var owner = like?.Owner ?? await host.Data.PersonAsync(day.Marigold);
        return new(await host.PagesAsAsync(owner), owner, day);
    }

    /// <summary>The sending part of the page, without the page.</summary>
    private sealed record Desk(HttpClient Browser, Person Owner, LarkfieldMonday Day)
    {
        public Task<Answer> SendAsync(string key, (string Name, string Value)[] fields, Guid? lesson = null) => SendAsync(key, fields, Owner.Id.ToString(), lesson);

        public async Task<Answer> SendAsync(string key, (string Name, string Value)[] fields, string? writer, Guid? lesson = null)
        {
            var sender = JsonDocument.Parse(await Browser.GetStringAsync("/syllabus/queue/sender")).RootElement;
            using var request = Request(key, fields, writer, lesson ?? Day.OnNow.Id, sender.GetProperty("token").GetString()!);
            var answer = await Browser.SendAsync(request);
            return new(answer.StatusCode, JsonDocument.Parse(await answer.Content.ReadAsStringAsync()).RootElement, answer.Headers.Contains("Idempotency-Replayed"));
        }

        public static HttpRequestMessage Request(string key, (string Name, string Value)[] fields, string? writer, Guid lesson, string token)
        {
            var request = new HttpRequestMessage(HttpMethod.Post, $"/syllabus/lessons/{lesson}/record")
            {
                Content = new FormUrlEncodedContent(fields.Select(field => KeyValuePair.Create(field.Name, field.Value))),
                Headers = { { "Idempotency-Key", key }, { "RequestVerificationToken", token } },
            };
            if (writer is not null)
            {
                request.Headers.Add("School-Person", writer);
            }

            return request;
        }
    }

    private sealed record Answer(HttpStatusCode Status, JsonElement Json, bool Replayed)
    {
        public string? Outcome => Json.GetProperty("outcome").GetString();
    }
}
