using System.Net;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using School.Tests;
using School.Web.Modules.Messages;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Pupils;

/// <summary>Who is beside a pupil, what they are let see, and the copies they get. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class BesideTests(TestPostgres postgres)
{
    private const string Bram = "bram.oakley@larkfield.example";

    [Fact]
    public async Task A_parent_is_put_beside_two_pupils_and_forgotten_once_beside_nobody()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var sibling = await school.Host.Data.PupilAsync("Wren Oakley");
        var bram = await ContactAsync(school.Office, new { name = "Bram Oakley", email = Bram, kind = "parent" });
        foreach (var pupil in new[] { school.PupilId, sibling.Id })
        {
            using var put = await school.Office.SendAsync(Put, Url(pupil, bram), new { relation = "father", sees = new[] { "lessons", "progress" }, getsLetters = true });
            Assert.Equal(HttpStatusCode.Created, put.StatusCode);
            var view = await put.JsonAsync();
            Assert.Equal(("Bram Oakley", "father", true), (view.GetProperty("name").GetString(), view.GetProperty("relation").GetString(), view.GetProperty("getsLetters").GetBoolean()));
        }

        var read = await school.Office.GetAsync(Url(school.PupilId, bram));
        Assert.Equal(["lessons", "progress"], (await read.JsonAsync()).GetProperty("sees").EnumerateArray().Select(part => part.GetString()));
        // A second PUT changes what stands there, and so names what it changes.
        Assert.Equal(HttpStatusCode.PreconditionRequired, (await school.Office.SendAsync(Put, Url(school.PupilId, bram), new { relation = "dad" })).StatusCode);
        using var changed = await school.Office.SendAsync(Put, Url(school.PupilId, bram), new { relation = "dad", sees = new[] { "lessons" } }, ("If-Match", read.Headers.ETag!.ToString()));
        Assert.Equal(HttpStatusCode.OK, changed.StatusCode);
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await school.Office.SendAsync(Put, Url(school.PupilId, bram), new { relation = "dad" }, ("If-Match", read.Headers.ETag!.ToString()))).StatusCode);

        Assert.Equal(HttpStatusCode.NoContent, (await school.Office.SendAsync(Delete, Url(school.PupilId, bram), null)).StatusCode);
        Assert.Equal(1, await school.Host.WithDbAsync(db => db.Set<Contact>().CountAsync()));
        Assert.Equal(HttpStatusCode.NoContent, (await school.Office.SendAsync(Delete, Url(sibling.Id, bram), null)).StatusCode);
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<Contact>().CountAsync()));
        Assert.Equal(HttpStatusCode.NotFound, (await school.Office.GetAsync($"/api/v1/contacts/{bram}")).StatusCode);
    }

    [Fact]
    public async Task Who_gets_letters_gets_a_copy_of_each_that_tells_a_lesson_and_none_once_removed()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var bram = await ContactAsync(school.Office, new { name = "Bram Oakley", email = Bram, kind = "parent" });
        using var put = await school.Office.SendAsync(Put, Url(school.PupilId, bram), new { sees = new[] { "lessons" }, getsLetters = true });
        Assert.Equal(HttpStatusCode.Created, put.StatusCode);
        var lesson = await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 12, 10));
        var copies = await school.Host.SaidAsync(all => all.Where(m => m.Receiver == ReceiverKind.Contact).OrderBy(m => m.DueAt));
        Assert.Equal(2, copies.Count);
        Assert.All(copies, copy =>
        {
            Assert.StartsWith("Hello Bram Oakley,", copy.Text, StringComparison.Ordinal);
            Assert.Contains("This is a copy of what we wrote to", copy.Text, StringComparison.Ordinal);
            // Nothing to press: who has no sign-in would only meet a closed door.
            Assert.DoesNotContain("https://", copy.Text, StringComparison.Ordinal);
        });
        await school.Office.SendAsync(Delete, Url(school.PupilId, bram), null);
        Assert.All(await school.Host.SaidAsync(all => all.Where(m => m.Receiver == ReceiverKind.Contact)), copy => Assert.Equal(MessageState.Withdrawn, copy.State));
        Assert.Equal(HttpStatusCode.OK, (await school.Office.CancelAsync(lesson.Id())).StatusCode);
        Assert.Equal(2, (await school.Host.SaidAsync(all => all.Where(m => m.Receiver == ReceiverKind.Contact))).Count);
    }

    [Fact]
    public async Task A_copy_tells_nothing_of_money_and_none_goes_that_the_pupil_took_back_meanwhile()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var bram = await ContactAsync(school.Office, new { name = "Bram Oakley", email = Bram, kind = "parent" });
        using var put = await school.Office.SendAsync(Put, Url(school.PupilId, bram), new { sees = new[] { "lessons" }, getsLetters = true });
        var lesson = await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 2, 15));
        Assert.Equal(HttpStatusCode.OK, (await school.Pupil.CancelAsync(lesson.Id())).StatusCode);
        var cancelled = await school.Host.SaidAsync(all => all.Where(m => m.Kind == "lesson_cancelled").OrderBy(m => m.Id));
        var (theirs, copy) = (cancelled.Single(m => m.Row.Receiver == ReceiverKind.Pupil), cancelled.Single(m => m.Row.Receiver == ReceiverKind.Contact));
        Assert.Contains("charge", theirs.Text, StringComparison.OrdinalIgnoreCase);
        Assert.DoesNotContain("charge", copy.Text, StringComparison.OrdinalIgnoreCase);

        // Written by somebody who did not know yet, or put back among the waiting by hand: it is asked again before it goes.
        await school.Office.SendAsync(Delete, Url(school.PupilId, bram), null);
        await school.Host.WithDbAsync(db => db.Set<Message>().Where(m => m.Receiver == ReceiverKind.Contact).ExecuteUpdateAsync(set => set.SetProperty(m => m.State, MessageState.Waiting)));
        await using (var scope = school.Host.Services.CreateAsyncScope())
        {
            await scope.ServiceProvider.GetRequiredService<SendDueMessages>().RunAsync(CancellationToken.None);
        }

        Assert.All(await school.Host.SaidAsync(all => all.Where(m => m.Receiver == ReceiverKind.Contact)), letter => Assert.Equal(MessageState.Withdrawn, letter.State));
    }

    [Fact]
    public async Task The_pupil_hears_whom_the_school_let_see_what_and_takes_it_back()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var bram = await ContactAsync(school.Office, new { name = "Bram Oakley", email = Bram, kind = "parent" });
        await school.Office.SendAsync(Put, Url(school.PupilId, bram), new { sees = new[] { "lessons", "money" } });
        var told = Assert.Single(await school.Host.SaidAsync(all => all.Where(m => m.Kind == "beside_pupil")));
        Assert.Contains("Bram Oakley", told.Text, StringComparison.Ordinal);
        Assert.Contains("lessons, money", told.Text, StringComparison.Ordinal);

        using var less = await school.Pupil.SendAsync(Put, Url(school.PupilId, bram), new { sees = Array.Empty<string>() }, ("If-Match", "*"));
        Assert.Equal(HttpStatusCode.OK, less.StatusCode);
        Assert.Empty((await less.JsonAsync()).GetProperty("sees").EnumerateArray());
        // What pupils do themselves they need no letter about.
        Assert.Single(await school.Host.SaidAsync(all => all.Where(m => m.Kind == "beside_pupil")));
        Assert.Equal(HttpStatusCode.NoContent, (await school.Pupil.SendAsync(Delete, Url(school.PupilId, bram), null)).StatusCode);
    }

    [Fact]
    public async Task A_pupil_neither_sees_nor_takes_whom_the_school_knows_of_others()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.PupilAsync("Wren Castellan");
        var carys = await ContactAsync(school.Office, new { name = "Carys Castellan", phone = "01632 960140", kind = "guardian" });
        await school.Office.SendAsync(Put, Url(other.Id, carys), new { relation = "aunt" });
        Assert.Equal(HttpStatusCode.NotFound, (await school.Pupil.SendAsync(Put, Url(school.PupilId, carys), new { relation = "aunt" })).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await school.Pupil.GetAsync($"/api/v1/pupils/{other.Id}/contacts")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await school.Pupil.SendAsync(Delete, Url(other.Id, carys), null)).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await school.Pupil.GetAsync("/api/v1/contacts")).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await school.Pupil.GetAsync($"/api/v1/contacts/{carys}")).StatusCode);
    }

    [Fact]
    public async Task What_cannot_be_is_refused_all_at_once()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var nothing = await school.Office.SendAsync(Post, "/api/v1/contacts", new { });
        Assert.Equal(["email", "kind", "name"], await nothing.WrongFieldsAsync());
        var phoneOnly = await ContactAsync(school.Office, new { name = "Carys Castellan", phone = "01632 960140", kind = "guardian" });
        using var letters = await school.Office.SendAsync(Put, Url(school.PupilId, phoneOnly), new { relation = new string('a', 41), sees = new[] { "progress" }, getsLetters = true });
        Assert.Equal(["getsLetters", "relation"], await letters.WrongFieldsAsync());
        Assert.Equal(HttpStatusCode.NotFound, (await school.Office.GetAsync(Url(school.PupilId, phoneOnly))).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await school.Office.SendAsync(Put, Url(school.PupilId, Guid.NewGuid()), new { })).StatusCode);

        using var twice = await school.Office.SendAsync(Put, Url(school.PupilId, phoneOnly), new { sees = new[] { "money", "money", "lessons", "money" } });
        Assert.Equal(["sees"], await twice.WrongFieldsAsync());

        for (var n = 0; n < 6; n++)
        {
            using var put = await school.Office.SendAsync(Put, Url(school.PupilId, await ContactAsync(school.Office, new { name = $"Aunt {n}", phone = "01632 960141", kind = "other" })), new { });
            Assert.Equal(HttpStatusCode.Created, put.StatusCode);
        }

        using var seventh = await school.Office.SendAsync(Put, Url(school.PupilId, phoneOnly), new { });
        Assert.Equal((HttpStatusCode.UnprocessableEntity, "too_many_contacts"), (seventh.StatusCode, await seventh.CodeAsync()));
    }

    [Fact]
    public async Task Two_who_let_go_of_one_contact_at_once_leave_nobody_behind()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var sibling = await school.Host.Data.PupilAsync("Wren Oakley");
        for (var round = 0; round < 5; round++)
        {
            var bram = await ContactAsync(school.Office, new { name = "Bram Oakley", email = Bram, kind = "parent" });
            await Task.WhenAll(new[] { school.PupilId, sibling.Id }.Select(pupil => school.Office.SendAsync(Put, Url(pupil, bram), new { sees = new[] { "lessons" }, getsLetters = true })));
            var gone = await Task.WhenAll(new[] { school.PupilId, sibling.Id }.Select(pupil => school.Office.SendAsync(Delete, Url(pupil, bram), null)));
            Assert.All(gone, answer => Assert.Equal(HttpStatusCode.NoContent, answer.StatusCode));
            Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<Contact>().CountAsync()));
        }
    }

    [Fact]
    public async Task The_page_asks_whether_the_pupil_agreed_and_keeps_what_was_typed()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        var url = $"/pupils/{school.PupilId}/beside";
        (string, string)[] form =
            [("New.Name", "Bram Oakley"), ("New.Kind", "Parent"), ("New.Email", Bram), ("Input.Relation", "father"), ("Lessons", "true"), ("Input.GetsLetters", "true")];
        var asked = await (await office.PostFormAsync(url, form)).TextAsync();
        Assert.Contains("Ask the pupil first", asked, StringComparison.Ordinal);
        Assert.Contains("value=\"Bram Oakley\"", asked, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(url, [.. form, ("Agreed", "true")])).StatusCode);
        var listed = await office.GetStringAsync(url);
        Assert.Contains("Bram Oakley", listed, StringComparison.Ordinal);
        Assert.Contains("copies", listed, StringComparison.Ordinal);
        // Found again for a brother or sister.
        var sibling = await school.Host.Data.PupilAsync("Wren Oakley");
        var id = await school.Host.WithDbAsync(db => db.Set<Contact>().Select(c => c.Id).SingleAsync());
        Assert.Contains($"/pupils/{sibling.Id}/beside?contact={id}", await office.GetStringAsync($"/pupils/{sibling.Id}/beside?find=bram"), StringComparison.Ordinal);
        Assert.Contains($"/pupils/{school.PupilId}/beside", await office.GetStringAsync("/pupils/contacts"), StringComparison.Ordinal);
    }

    private static string Url(Guid pupil, Guid contact) => $"/api/v1/pupils/{pupil}/contacts/{contact}";

    private static async Task<Guid> ContactAsync(HttpClient api, object body)
    {
        using var made = await api.SendAsync(Post, "/api/v1/contacts", body);
        Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        return (await made.JsonAsync()).GetProperty("id").GetGuid();
    }
}
