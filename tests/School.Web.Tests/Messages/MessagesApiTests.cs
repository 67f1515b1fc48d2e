using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using NodaTime;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Tests.Host;

namespace School.Web.Tests.Messages;

public sealed class MessagesApiTests(TestPostgres postgres)
{
    private const string Messages = "/api/v1/messages";

    [Fact]
    public async Task The_office_reads_messages_newest_first_page_by_page_and_by_state()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        for (var n = 1; n <= 3; n++)
        {
            await host.AddAsync(Post.Reminder(host, n));
        }

        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var first = await office.GetFromJsonAsync<JsonElement>($"{Messages}?limit=2&state=waiting");
        Assert.Equal(["pupil3@larkfield.example", "pupil2@larkfield.example"], Addresses(first));
        var rest = await office.GetFromJsonAsync<JsonElement>($"{Messages}?limit=2&cursor={first.GetProperty("next").GetString()}");
        Assert.Equal(["pupil1@larkfield.example"], Addresses(rest));
        Assert.Equal(JsonValueKind.Null, rest.GetProperty("next").ValueKind);
        Assert.Empty(Addresses(await office.GetFromJsonAsync<JsonElement>($"{Messages}?state=failed")));

        var id = first.GetProperty("items")[0].GetProperty("id").GetGuid();
        var whole = await office.GetFromJsonAsync<JsonElement>($"{Messages}/{id}");
        Assert.Equal("Your lesson is tomorrow at 10:00.\n", whole.GetProperty("text").GetString());
    }

    [Theory]
    [InlineData("?limit=1000000")]
    [InlineData("?limit=0")]
    [InlineData("?state=lost")]
    [InlineData("?cursor=!!")]
    [InlineData("?cursor=bm90IGFuIGlk")]
    public async Task A_list_that_cannot_be_read_is_asked_for_in_vain(string query)
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        Assert.Equal(HttpStatusCode.BadRequest, (await office.GetAsync(Messages + query)).StatusCode);
    }

    [Fact]
    public async Task Pupils_and_instructors_see_no_messages()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var message = Post.Reminder(host);
        await host.AddAsync(message);
        using var pupil = await host.ApiAsAsync(await host.Data.PersonAsync(await host.Data.PupilAsync()));
        using var instructor = await host.ApiAsAsync(await host.Data.PersonAsync(await host.Data.InstructorAsync()));
        foreach (var client in new[] { pupil, instructor })
        {
            Assert.Equal(HttpStatusCode.Forbidden, (await client.GetAsync(Messages)).StatusCode);
            Assert.Equal(HttpStatusCode.Forbidden, (await client.GetAsync($"{Messages}/{message.Id}")).StatusCode);
            Assert.Equal(HttpStatusCode.Forbidden, (await client.PostAsync($"{Messages}/{message.Id}/send-again", null)).StatusCode);
        }
    }

    [Fact]
    public async Task A_failed_message_is_sent_again_with_all_its_tries_before_it()
    {
        await using var server = new SmtpListener { Mood = c => c.StartsWith("RCPT", StringComparison.Ordinal) ? new Trouble.Says("550 no") : null };
        await using var host = await SchoolHost.StartAsync(postgres);
        var message = Post.Reminder(host);
        await host.AddAsync(message);
        await Post.RunAsync(host, Post.To(server));
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());

        var answer = await office.PostAsync($"{Messages}/{message.Id}/send-again", null);

        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        var body = await answer.Content.ReadFromJsonAsync<JsonElement>();
        Assert.Equal(("waiting", 0), (body.GetProperty("state").GetString(), body.GetProperty("tries").GetInt32()));
        server.Mood = _ => null;
        await Post.RunAsync(host, Post.To(server));
        Assert.Single(server.Letters);
        Assert.Equal("message_not_failed", await CodeAsync(await office.PostAsync($"{Messages}/{message.Id}/send-again", null), HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task A_failed_message_about_something_past_is_not_sent_again()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var message = Post.Reminder(host, useless: host.Clock.GetCurrentInstant() + Duration.FromHours(1));
        message.State = MessageState.Failed;
        message.ClosedAt = host.Clock.GetCurrentInstant();
        await host.AddAsync(message);
        host.Clock.AdvanceHours(1);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());

        Assert.Equal("message_useless", await CodeAsync(await office.PostAsync($"{Messages}/{message.Id}/send-again", null), HttpStatusCode.UnprocessableEntity));
        Assert.Equal("not_found", await CodeAsync(await office.PostAsync($"{Messages}/{Guid.NewGuid()}/send-again", null), HttpStatusCode.NotFound));
    }

    private static async Task<string?> CodeAsync(HttpResponseMessage answer, HttpStatusCode expected)
    {
        Assert.Equal(expected, answer.StatusCode);
        return (await answer.Content.ReadFromJsonAsync<JsonElement>()).GetProperty("code").GetString();
    }

    private static List<string?> Addresses(JsonElement page) =>
        [.. page.GetProperty("items").EnumerateArray().Select(m => m.GetProperty("toAddress").GetString())];
}
