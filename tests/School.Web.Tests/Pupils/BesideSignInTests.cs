using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using School.Web.Tests.People;
using static System.Net.Http.HttpMethod;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Pupils;

/// <summary>Who is beside a pupil signs in, sees what the pupil allows and nothing else. The clock stands at Monday 2 March 2026, 08:00.</summary>
public sealed class BesideSignInTests(TestPostgres postgres)
{
    private const string Bram = "bram.oakley@larkfield.example";
    private const string Chosen = "four winds over larkfield";

    [Fact]
    public async Task A_pupil_invites_whom_they_put_beside_them_who_then_sees_what_is_allowed_and_no_more()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lesson = await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 12, 10));
        var bram = await PutAsync(school, ["lessons"]);
        using var invited = await school.Pupil.SendAsync(Post, $"{Url(school.PupilId, bram)}/invitation", new { });
        Assert.Equal("invited", (await invited.JsonAsync()).GetProperty("signIn").GetString());
        using var browser = school.Host.Browser();
        var link = await Mails.LinkAsync(school.Host, Bram, "invitation");
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(link, ("Password", Chosen))).StatusCode);
        Assert.Equal("/diary/beside", (await browser.GetAsync("/")).Headers.Location?.OriginalString);
        var home = await (await browser.GetAsync("/diary/beside")).TextAsync();
        Assert.Contains("Tamsin Oakley", home, StringComparison.Ordinal);
        Assert.Contains("Thursday 12 March", home, StringComparison.Ordinal);
        Assert.Contains("10:00 to 11:00", home, StringComparison.Ordinal);
        Assert.Contains("12 Mill Lane", home, StringComparison.Ordinal);
        Assert.DoesNotContain("/syllabus/beside", home, StringComparison.Ordinal);
        Assert.Contains("10:00 to 11:00", await (await browser.GetAsync($"/diary/beside/{school.PupilId}")).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.NotFound, (await browser.GetAsync($"/syllabus/beside/{school.PupilId}")).StatusCode);

        using var api = await school.Host.ApiAsAsync(await PersonAsync(school, bram));
        var me = await api.GetJsonAsync("/api/v1/me");
        Assert.Equal(["besidePupil"], me.GetProperty("hats").EnumerateArray().Select(hat => hat.GetString()));
        var whom = Assert.Single(me.GetProperty("beside").EnumerateArray());
        Assert.Equal((school.PupilId, "Tamsin Oakley"), (whom.GetProperty("pupilId").GetGuid(), whom.GetProperty("name").GetString()));
        Assert.Equal(["lessons"], whom.GetProperty("sees").EnumerateArray().Select(part => part.GetString()));
        Assert.Equal(lesson.Id(), Assert.Single((await api.GetJsonAsync("/api/v1/lessons")).GetProperty("items").EnumerateArray()).Id());
        Assert.Equal(HttpStatusCode.NotFound, (await api.GetAsync($"/api/v1/pupils/{school.PupilId}/progress")).StatusCode);
        foreach (var (method, url) in new[] { (Post, "cancel"), (Post, "move"), (Get, "charge?act=cancel"), (Get, "history") })
        {
            using var answer = await api.SendAsync(method, $"/api/v1/lessons/{lesson.Id()}/{url}", method == Get ? null : new { reason = "pupil" });
            Assert.Equal(HttpStatusCode.Forbidden, answer.StatusCode);
        }
    }

    [Fact]
    public async Task What_is_taken_back_is_gone_at_the_next_request_and_one_right_gives_no_other()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 12, 10));
        var bram = await PutAsync(school, ["lessons", "progress"]);
        var person = await SignsInAsync(school, bram);
        using var pages = await school.Host.PagesAsAsync(person);
        using var api = await school.Host.ApiAsAsync(person);
        async Task<string> OpensAsync() => string.Join(' ', new[]
        {
            (await pages.GetAsync($"/diary/beside/{school.PupilId}")).StatusCode, (await pages.GetAsync($"/syllabus/beside/{school.PupilId}")).StatusCode,
            (await api.GetAsync($"/api/v1/pupils/{school.PupilId}/progress")).StatusCode,
        }.Select(status => status == HttpStatusCode.OK ? "yes" : status == HttpStatusCode.NotFound ? "no" : $"{status}"))
            + $" {(await api.GetJsonAsync("/api/v1/lessons")).GetProperty("items").GetArrayLength()}";

        Assert.Equal("yes yes yes 1", await OpensAsync());
        foreach (var (sees, expected) in new[]
        {
            (new[] { "progress" }, "no yes yes 0"), (["lessons"], "yes no no 1"), (["money"], "no no no 0"), ([], "no no no 0"), (["lessons", "progress", "money"], "yes yes yes 1"),
        })
        {
            using var put = await school.Pupil.SendAsync(Put, Url(school.PupilId, bram), new { sees }, ("If-Match", "*"));
            Assert.Equal(HttpStatusCode.OK, put.StatusCode);
            Assert.Equal(expected, await OpensAsync());
        }

        // Who left cannot take anything back, and so lets nobody see anything.
        await school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.PupilId).ExecuteUpdateAsync(set => set.SetProperty(p => p.RetiredOn, new LocalDate(2026, 3, 1))));
        Assert.Equal("no no no 0", await OpensAsync());
    }

    [Fact]
    public async Task Somebody_beside_sees_when_and_where_and_neither_reasons_charges_words_nor_what_is_kept_of_the_pupil()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var soon = await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 2, 15));
        Assert.Equal(HttpStatusCode.OK, (await school.Pupil.CancelAsync(soon.Id())).StatusCode);
        var taught = await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10));
        school.Host.Clock.Advance(Duration.FromHours(28));
        using var recorded = await school.Instructor.RecordAsync(taught.Id(), 60, "Nervous after the argument at home.");
        Assert.Equal(HttpStatusCode.OK, recorded.StatusCode);
        var person = await SignsInAsync(school, await PutAsync(school, ["lessons", "progress"]));
        using var api = await school.Host.ApiAsAsync(person);
        using var pages = await school.Host.PagesAsAsync(person);
        var told = await (await api.GetAsync($"/api/v1/lessons/{soon.Id()}")).JsonAsync();
        foreach (var member in new[] { "cancelledBecause", "charge", "chargeable", "chargePolicy", "note", "minutesTaught" })
        {
            Assert.Equal(System.Text.Json.JsonValueKind.Null, told.GetProperty(member).ValueKind);
        }

        Assert.Equal("cancelled", told.GetProperty("state").GetString());
        foreach (var answer in new[]
        {
            await (await api.GetAsync("/api/v1/lessons")).TextAsync(), await (await api.GetAsync($"/api/v1/pupils/{school.PupilId}/progress")).TextAsync(),
            await (await api.GetAsync($"/api/v1/pupils/{school.PupilId}/progress?format=csv")).TextAsync(), await pages.GetStringAsync("/diary/beside"),
            await pages.GetStringAsync($"/diary/beside/{school.PupilId}"), await pages.GetStringAsync($"/syllabus/beside/{school.PupilId}"),
        })
        {
            Assert.DoesNotContain("Nervous", answer, StringComparison.Ordinal);
            Assert.DoesNotContain("harged", answer, StringComparison.Ordinal);
        }

        // The pupil's own view of the same is whole.
        Assert.Contains("Nervous", await (await school.Pupil.GetAsync($"/api/v1/pupils/{school.PupilId}/progress")).TextAsync(), StringComparison.Ordinal);
        // What a close reading found open to a trainee, and what is kept of pupils: none of it is theirs, though the pupil allows all there is to allow.
        foreach (var (method, url, body) in new (HttpMethod, string, object?)[]
        {
            (Get, "", null), (Put, "", new { }), (Get, "/guarded", null), (Put, "/guarded", new { healthNotes = "Nothing." }), (Post, "/eyesight-check", new { on = "2026-03-02" }),
            (Put, "/availability", new { times = Array.Empty<object>() }), (Get, "/practice", null), (Post, "/practice", new { }), (Get, "/mock-tests", null), (Get, "/readiness", null),
            (Get, "/contacts", null), (Get, "/places", null), (Get, "/eligibility", null), (Put, "/contact", new { }), (Put, "/teaching", new { }),
        })
        {
            using var answer = await api.SendAsync(method, $"/api/v1/pupils/{school.PupilId}{url}", body);
            Assert.True(answer.StatusCode == HttpStatusCode.Forbidden, $"{method} {url}: {answer.StatusCode}");
        }
    }

    [Fact]
    public async Task A_contact_removed_while_signed_in_is_refused_from_the_next_request_on_and_nothing_of_them_is_kept()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var bram = await PutAsync(school, ["lessons"]);
        var person = await SignsInAsync(school, bram);
        using var pages = await school.Host.PagesAsAsync(person);
        using var api = await school.Host.ApiAsAsync(person);
        Assert.Equal(HttpStatusCode.OK, (await pages.GetAsync("/diary/beside")).StatusCode);
        Assert.Equal(HttpStatusCode.NoContent, (await school.Pupil.SendAsync(Delete, Url(school.PupilId, bram), null)).StatusCode);
        var refused = await pages.GetAsync("/diary/beside");
        Assert.StartsWith("/people/sign-in", refused.Headers.Location?.OriginalString, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Unauthorized, (await api.GetAsync("/api/v1/me")).StatusCode);
        using var again = school.Host.Browser();
        Assert.Equal(HttpStatusCode.OK, (await again.PostFormAsync("/people/sign-in", ("Input.Email", Bram), ("Input.Password", SchoolHost.Password))).StatusCode);
        var left = await school.Host.WithDbAsync(db => db.Set<Person>().AsNoTracking().SingleAsync(p => p.Id == person.Id));
        Assert.Equal(("somebody who was beside a pupil", "", null, null, true), (left.Name, left.Email, left.UserName, left.ContactId, left.Closed));
        Assert.DoesNotContain(
            await school.Host.WithDbAsync(db => db.Set<AuditEntry>().Where(a => a.What.StartsWith("person.") || a.What.StartsWith("contact.")).Select(a => a.Words).ToListAsync()),
            words => words.Contains("Bram", StringComparison.Ordinal));
        // The address is free for whoever has it next.
        using var next = await school.Pupil.SendAsync(Post, $"{Url(school.PupilId, await PutAsync(school, ["lessons"]))}/invitation", new { });
        Assert.Equal(HttpStatusCode.OK, next.StatusCode);
    }

    [Fact]
    public async Task A_parent_who_learns_keeps_that_hat_when_the_other_is_taken()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var own = await school.Host.Data.PupilAsync("Bram Oakley");
        var bram = await school.Host.Data.ContactAsync("Bram Oakley", (school.PupilId, [SeenOfPupil.Lessons]));
        var both = await school.Host.Data.WearerAsync("Bram Oakley", Bram, pupil: own.Id, contact: bram.Id);
        var (childs, theirs) = (
            await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 12, 10)), await school.Office.BookedAsync(own.Id, school.InstructorId, London(2026, 3, 13, 10)));
        using var pages = await school.Host.PagesAsAsync(both);
        using var api = await school.Host.ApiAsAsync(both);
        var listed = (await api.GetJsonAsync("/api/v1/lessons")).GetProperty("items").EnumerateArray().ToList();
        Assert.Equal([childs.Id(), theirs.Id()], listed.Select(lesson => lesson.Id()));
        // The hat of a pupil cancels one's own lessons and no others.
        Assert.Equal(HttpStatusCode.NotFound, (await api.CancelAsync(childs.Id())).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await pages.GetAsync($"/diary/lessons/{childs.Id()}")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await api.GetAsync($"/api/v1/pupils/{school.PupilId}")).StatusCode);
        var home = await pages.GetStringAsync("/diary/home");
        Assert.Contains("href=\"/diary/beside\"", home, StringComparison.Ordinal);

        Assert.Equal(HttpStatusCode.NoContent, (await school.Pupil.SendAsync(Delete, Url(school.PupilId, bram.Id), null)).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await pages.GetAsync("/diary/home")).StatusCode);
        Assert.Contains("not-allowed", (await pages.GetAsync("/diary/beside")).Headers.Location?.OriginalString, StringComparison.Ordinal);
        Assert.Equal(theirs.Id(), Assert.Single((await api.GetJsonAsync("/api/v1/lessons")).GetProperty("items").EnumerateArray()).Id());
        Assert.Single(await Mails.OfAsync(school.Host, Bram, "hats-changed"));
    }

    [Fact]
    public async Task An_instructor_whose_child_learns_with_another_takes_the_invitation_into_their_own_sign_in()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Bram Oakley");
        var own = await school.Host.Data.PersonAsync(other);
        var lesson = await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 20, 10));
        var bram = await PutAsync(school, ["lessons"]);
        using var invited = await school.Pupil.SendAsync(Post, $"{Url(school.PupilId, bram)}/invitation", new { });
        var link = await Mails.LinkAsync(school.Host, Bram, "invitation");
        using var nobody = school.Host.Browser();
        Assert.Contains("/people/sign-in?next=", await nobody.GetStringAsync(link), StringComparison.Ordinal);
        Assert.StartsWith("/people/sign-in", (await nobody.PostFormAsync(link, $"{link}&handler=Join")).Headers.Location?.OriginalString, StringComparison.Ordinal);

        using var pages = await school.Host.PagesAsAsync(own);
        using var api = await school.Host.ApiAsAsync(own);
        Assert.Equal(HttpStatusCode.NotFound, (await api.GetAsync($"/api/v1/lessons/{lesson.Id()}")).StatusCode);
        Assert.Equal("/diary/beside", (await pages.PostFormAsync(link, $"{link}&handler=Join")).Headers.Location?.OriginalString);
        Assert.Contains("10:00 to 11:00", await pages.GetStringAsync("/diary/beside"), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.OK, (await api.GetAsync($"/api/v1/lessons/{lesson.Id()}")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await api.CancelAsync(lesson.Id())).StatusCode);
        Assert.Contains("invitation is over", await nobody.GetStringAsync(link), StringComparison.Ordinal);
        Assert.Equal(1, await school.Host.WithDbAsync(db => db.Set<Person>().CountAsync(p => p.ContactId == bram)));
        // Whoever else has the link, or a second one, does not get in by it.
        Assert.Contains("link_over", await CodeOfAsync(pages, link), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Who_may_invite_whom()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var sibling = await school.Host.Data.PupilAsync("Wren Oakley");
        var bram = await school.Host.Data.ContactAsync("Bram Oakley", (sibling.Id, [SeenOfPupil.Lessons]));
        async Task<(HttpStatusCode, string?)> InviteAsync(HttpClient api, Guid pupil, Guid contact)
        {
            using var answer = await api.SendAsync(Post, $"{Url(pupil, contact)}/invitation", new { });
            return (answer.StatusCode, answer.IsSuccessStatusCode ? null : await answer.CodeAsync());
        }

        Assert.Equal((HttpStatusCode.NotFound, "not_found"), await InviteAsync(school.Pupil, school.PupilId, bram.Id));
        Assert.Equal((HttpStatusCode.NotFound, "not_found"), await InviteAsync(school.Pupil, sibling.Id, bram.Id));
        Assert.Equal((HttpStatusCode.NotFound, "not_found"), await InviteAsync(school.Instructor, sibling.Id, bram.Id));
        var phoneOnly = await ContactAsync(school, new { name = "Carys Oakley", phone = "01632 960140", kind = "guardian" });
        await school.Office.SendAsync(Put, Url(school.PupilId, phoneOnly), new { });
        Assert.Equal((HttpStatusCode.UnprocessableEntity, "contact_without_email"), await InviteAsync(school.Pupil, school.PupilId, phoneOnly));

        var carys = await PutAsync(school, []);
        Assert.Equal(HttpStatusCode.OK, (await InviteAsync(school.Pupil, school.PupilId, carys)).Item1);
        await SignsInAsync(school, carys);
        Assert.Equal((HttpStatusCode.Conflict, "signs_in_already"), await InviteAsync(school.Office, school.PupilId, carys));
        // What the school closed the school opens.
        await school.Host.WithDbAsync(db => db.Set<Person>().Where(p => p.ContactId == carys).ExecuteUpdateAsync(set => set.SetProperty(p => p.Closed, true)));
        Assert.Equal((HttpStatusCode.UnprocessableEntity, "sign_in_of_school"), await InviteAsync(school.Pupil, school.PupilId, carys));
        Assert.Equal(HttpStatusCode.OK, (await InviteAsync(school.Office, school.PupilId, carys)).Item1);

        HttpStatusCode last = default;
        for (var n = 0; n < InviteBeside.MostADay; n++)
        {
            last = (await InviteAsync(school.Pupil, school.PupilId, carys)).Item1;
        }

        Assert.Equal(HttpStatusCode.TooManyRequests, last);
    }

    [Fact]
    public async Task The_pupils_are_told_who_changed_how_a_contact_is_reached()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var sibling = await school.Host.Data.PupilAsync("Wren Oakley");
        await school.Host.Data.PupilAsync("Perrin Lark");
        var bram = await school.Host.Data.ContactAsync("Bram Oakley", (school.PupilId, [SeenOfPupil.Lessons]), (sibling.Id, []));
        async Task ChangeAsync(object body)
        {
            using var changed = await school.Office.SendAsync(Put, $"/api/v1/contacts/{bram.Id}", body, ("If-Match", "*"));
            Assert.Equal(HttpStatusCode.OK, changed.StatusCode);
        }

        await ChangeAsync(new { name = "Bram J. Oakley", email = bram.Email, kind = "guardian" });
        Assert.Empty(await school.Host.SaidAsync(all => all.Where(m => m.Kind == "contact_changed")));
        await ChangeAsync(new { name = "Bram J. Oakley", email = Bram, kind = "guardian" });
        var told = await school.Host.SaidAsync(all => all.Where(m => m.Kind == "contact_changed"));
        Assert.Equal(new[] { school.PupilId, sibling.Id }.Order(), told.Select(letter => letter.Row.AboutId).Order());
        Assert.All(told, letter =>
        {
            Assert.Contains($"{Bram} (before: {bram.Email})", letter.Text, StringComparison.Ordinal);
            Assert.Contains("Rosalind Pike", letter.Text, StringComparison.Ordinal);
            Assert.DoesNotContain("guardian", letter.Text, StringComparison.OrdinalIgnoreCase);
            Assert.DoesNotContain("Wren", letter.Text.Replace("Hello Wren Oakley", "", StringComparison.Ordinal), StringComparison.Ordinal);
        });
    }

    [Fact]
    public async Task A_contact_who_was_never_beside_anybody_is_forgotten_on_request_and_one_who_stands_beside_somebody_is_not()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var unused = await ContactAsync(school, new { name = "Bram Oakley", email = Bram, kind = "parent" });
        var standing = await school.Host.Data.ContactAsync("Carys Oakley", (school.PupilId, []));
        Assert.Equal("beside_somebody", await (await school.Office.SendAsync(Delete, $"/api/v1/contacts/{standing.Id}", null)).CodeAsync());
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await school.Office.SendAsync(Delete, $"/api/v1/contacts/{unused}", null, ("If-Match", "\"7\""))).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await school.Pupil.SendAsync(Delete, $"/api/v1/contacts/{unused}", null)).StatusCode);
        Assert.Equal(HttpStatusCode.NoContent, (await school.Office.SendAsync(Delete, $"/api/v1/contacts/{unused}", null)).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await school.Office.SendAsync(Delete, $"/api/v1/contacts/{unused}", null)).StatusCode);

        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        var second = await ContactAsync(school, new { name = "Bram Oakley", email = Bram, kind = "parent" });
        Assert.DoesNotContain("handler=Forget", await pages.GetStringAsync($"/pupils/contacts/{standing.Id}"), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await pages.PostFormAsync($"/pupils/contacts/{second}", $"/pupils/contacts/{second}?handler=Forget")).StatusCode);
        Assert.Equal(standing.Id, await school.Host.WithDbAsync(db => db.Set<Contact>().Select(c => c.Id).SingleAsync()));
    }

    private static string Url(Guid pupil, Guid contact) => $"/api/v1/pupils/{pupil}/contacts/{contact}";

    private static async Task<Guid> PutAsync(SmallSchool school, string[] sees)
    {
        var contact = await ContactAsync(school, new { name = "Bram Oakley", email = Bram, kind = "parent" });
        using var put = await school.Office.SendAsync(Put, Url(school.PupilId, contact), new { relation = "father", sees });
        Assert.Equal(HttpStatusCode.Created, put.StatusCode);
        return contact;
    }

    private static async Task<Guid> ContactAsync(SmallSchool school, object body)
    {
        using var made = await school.Office.SendAsync(Post, "/api/v1/contacts", body);
        Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        return (await made.JsonAsync()).GetProperty("id").GetGuid();
    }

    /// <summary>Invited by the office if need be, and signed in with the password of the tests.</summary>
    private static async Task<Person> SignsInAsync(SmallSchool school, Guid contact)
    {
        using var invited = await school.Office.SendAsync(Post, $"{Url(school.PupilId, contact)}/invitation", new { });
        Assert.Equal(HttpStatusCode.OK, invited.StatusCode);
        using var browser = school.Host.Browser();
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(await Mails.LinkAsync(school.Host, Bram, "invitation"), ("Password", SchoolHost.Password))).StatusCode);
        return await PersonAsync(school, contact);
    }

    private static Task<Person> PersonAsync(SmallSchool school, Guid contact) => school.Host.WithDbAsync(db => db.Set<Person>().AsNoTracking().SingleAsync(p => p.ContactId == contact));

    private static async Task<string> CodeOfAsync(HttpClient pages, string link)
    {
        var answer = await pages.PostFormAsync("/people/account", $"{link}&handler=Join");
        return answer.StatusCode == HttpStatusCode.OK && (await answer.TextAsync()).Contains("This invitation is over", StringComparison.Ordinal) ? "link_over" : $"{answer.StatusCode}";
    }
}
