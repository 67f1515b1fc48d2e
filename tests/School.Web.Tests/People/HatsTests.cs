using System.Net;
using System.Net.Http.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.Records;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

/// <summary>Who wears which hats, and what several of them open together.</summary>
public sealed class HatsTests(TestPostgres postgres)
{
    [Fact]
    public async Task Hats_are_given_and_taken_by_the_API_with_a_version_an_audit_line_and_a_letter()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var instructor = await host.Data.InstructorAsync();
        var person = await host.Data.PersonAsync(instructor);
        var url = $"/api/v1/sign-ins/{person.Id}";
        var read = await office.GetAsync(url);
        Assert.Equal("\"1\"", read.Headers.ETag?.ToString());
        Assert.Equal(["instructor"], (await read.JsonAsync()).GetProperty("hats").EnumerateArray().Select(hat => hat.GetString()));

        var body = new { parts = new[] { "diary", "money" }, instructorId = instructor.Id };
        Assert.Equal(HttpStatusCode.PreconditionRequired, (await office.PutAsJsonAsync($"{url}/hats", body)).StatusCode);
        using var changed = await office.SendJsonAsync(HttpMethod.Put, $"{url}/hats", body, etag: "\"1\"");
        Assert.Equal(["instructor", "office"], (await changed.JsonAsync()).GetProperty("hats").EnumerateArray().Select(hat => hat.GetString()));
        Assert.Equal("\"2\"", changed.Headers.ETag?.ToString());
        Assert.Equal("stale", await (await office.SendJsonAsync(HttpMethod.Put, $"{url}/hats", body, etag: "\"1\"")).CodeAsync());

        using var theirs = await host.ApiAsAsync(person);
        Assert.Equal(HttpStatusCode.OK, (await theirs.GetAsync("/api/v1/attention")).StatusCode);
        var letter = Assert.Single(await Mails.OfAsync(host, instructor.Email, "hats-changed"));
        Assert.Contains("of the office: diary, money", letter.Text, StringComparison.Ordinal);
        Assert.Contains(await host.WithDbAsync(db => db.Set<AuditEntry>().Where(a => a.What == "person.hats" && a.AboutId == person.Id).Select(a => a.Words).ToListAsync()),
            words => words.Contains("teaches; of the office: diary, money", StringComparison.Ordinal));

        // Taken away it is closed at once, in a program that is signed in already.
        using var taken = await office.SendJsonAsync(HttpMethod.Put, $"{url}/hats", new { parts = Array.Empty<string>(), instructorId = instructor.Id }, etag: "\"2\"");
        Assert.Equal(HttpStatusCode.OK, taken.StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await theirs.GetAsync("/api/v1/attention")).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await theirs.GetAsync("/api/v1/lessons")).StatusCode);
    }

    [Fact]
    public async Task What_is_wrong_with_hats_is_told_in_one_round_and_nothing_changes()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var taken = await host.Data.InstructorAsync();
        await host.Data.PersonAsync(taken);
        var learner = await host.Data.PupilAsync();
        await host.Data.PersonAsync(learner);
        var person = await host.Data.PersonAsync(await host.Data.PupilAsync("Bryony Vale"));
        var url = $"/api/v1/sign-ins/{person.Id}/hats";
        async Task<System.Text.Json.JsonElement> ErrorsAsync(object body) =>
            (await (await office.SendJsonAsync(HttpMethod.Put, url, body, etag: "*")).JsonAsync(HttpStatusCode.BadRequest)).GetProperty("errors");

        Assert.Contains("at least one hat", (await ErrorsAsync(new { parts = Array.Empty<string>() })).GetProperty("parts")[0].GetString(), StringComparison.Ordinal);
        var both = await ErrorsAsync(new { parts = Array.Empty<string>(), instructorId = taken.Id, pupilId = learner.Id });
        Assert.Contains("already signs in as this instructor", both.GetProperty("instructorId")[0].GetString(), StringComparison.Ordinal);
        Assert.Contains("already signs in as this pupil", both.GetProperty("pupilId")[0].GetString(), StringComparison.Ordinal);
        Assert.True((await ErrorsAsync(new { parts = Array.Empty<string>(), pupilId = RowId.New() })).TryGetProperty("pupilId", out _));
        Assert.True((await ErrorsAsync(new { parts = Array.Empty<string>(), instructorId = RowId.New() })).TryGetProperty("instructorId", out _));
        var gone = await host.Data.PupilAsync("Perrin Sable");
        Assert.Equal(HttpStatusCode.OK, (await office.SendJsonAsync(HttpMethod.Post, $"/api/v1/pupils/{gone.Id}/retire", new { on = "2026-03-02" }, etag: "*")).StatusCode);
        Assert.Equal("Choose a pupil who learns here.", (await ErrorsAsync(new { parts = Array.Empty<string>(), pupilId = gone.Id })).GetProperty("pupilId")[0].GetString());
        var after = await host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.Id == person.Id));
        Assert.Equal((1, person.PupilId, OfficeParts.None), (after.HatsVersion, after.PupilId, after.Parts));
    }

    [Fact]
    public async Task A_calendar_address_tells_no_more_once_the_hat_is_gone_by_which_it_was_made()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var (teacher, own) = (await host.Data.InstructorAsync(), await host.Data.InstructorAsync("Piers Anstey"));
        var keeper = await host.Data.PersonAsync(own);
        await host.WithDbAsync(db => db.Set<Person>().Where(p => p.Id == keeper.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Parts, OfficeParts.Diary)));
        using var theirs = await host.ApiAsAsync(keeper);
        async Task<string> FeedAsync(Guid instructor) => new Uri(
            (await (await theirs.PostAsJsonAsync("/api/v1/feeds", new { instructorId = instructor, detail = "full" })).JsonAsync(HttpStatusCode.Created)).GetProperty("url").GetString()!).PathAndQuery;
        var (everybodys, mine) = (await FeedAsync(teacher.Id), await FeedAsync(own.Id));
        using var program = host.Anonymous();
        Assert.Equal(HttpStatusCode.OK, (await program.GetAsync(everybodys)).StatusCode);

        using var taken = await office.SendJsonAsync(HttpMethod.Put, $"/api/v1/sign-ins/{keeper.Id}/hats", new { parts = Array.Empty<string>(), instructorId = own.Id }, etag: "*");
        Assert.Equal(HttpStatusCode.OK, taken.StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await program.GetAsync(everybodys)).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await program.GetAsync(mine)).StatusCode);
    }

    [Fact]
    public async Task Who_is_invited_anew_gets_the_hats_of_that_invitation_and_none_of_before()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.Data.OfficeAsync();
        var former = await host.Data.OfficeAsync("Sorrel Wick");
        async Task<OfficeParts> InviteAsync(OfficeParts parts)
        {
            await using var scope = host.Services.CreateAsyncScope();
            var invited = await scope.ServiceProvider.GetRequiredService<InvitePerson>().RunAsync(Viewer.Service, new("Sorrel Wick", former.Email, parts), CancellationToken.None);
            Assert.True(invited.Ok);
            Assert.Equal(former.Id, invited.Ok ? invited.Value.Person.Id : Guid.Empty);
            return await host.WithDbAsync(db => db.Set<Person>().Where(p => p.Id == former.Id).Select(p => p.Parts).SingleAsync());
        }

        await host.WithDbAsync(db => db.Set<Person>().Where(p => p.Id == former.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Closed, true)));
        Assert.Equal(OfficeParts.Diary, await InviteAsync(OfficeParts.Diary));
        // Put right before they answered, upwards as well: an operator who asks for all of it gets it.
        Assert.Equal(OfficeParts.All, await InviteAsync(OfficeParts.All));
    }

    [Fact]
    public async Task Who_looks_after_people_alone_gives_nobody_the_hat_of_an_instructor()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var people = new Viewer(RowId.New(), OfficeParts.People, null, null, "Sorrel Wick");
        var (teacher, pupil) = (await host.Data.InstructorAsync(), await host.Data.PupilAsync());
        await using var scope = host.Services.CreateAsyncScope();
        var invite = scope.ServiceProvider.GetRequiredService<InvitePerson>();
        var refused = await invite.RunAsync(people, new(teacher.Name, "sorrel.again@larkfield.example", InstructorId: teacher.Id), CancellationToken.None);
        Assert.Equal("hats_not_yours", refused.Ok ? "" : refused.Refusal.Code);
        Assert.True((await invite.RunAsync(people, new(pupil.Name, pupil.Email, PupilId: pupil.Id), CancellationToken.None)).Ok);
    }

    [Fact]
    public async Task The_last_who_holds_the_settings_keeps_them()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var only = await host.Data.OfficeAsync();
        // Who is invited and never came, or is closed, could not give the part back.
        await host.Data.WearerAsync("Sorrel Wick", "sorrel@larkfield.example", OfficeParts.Diary | OfficeParts.People);
        var closed = await host.Data.OfficeAsync("Linnet Brook");
        await host.WithDbAsync(db => db.Set<Person>().Where(p => p.Id == closed.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Closed, true)));
        using var office = await host.ApiAsAsync(only);
        var refused = await office.SendJsonAsync(HttpMethod.Put, $"/api/v1/sign-ins/{only.Id}/hats", new { parts = new[] { "diary", "people", "money", "confidential" } }, etag: "*");
        Assert.Equal("last_settings_holder", await refused.CodeAsync());

        using var pages = await host.PagesAsAsync(only);
        var page = $"/people/hats/{only.Id}";
        Assert.Contains("Hats of Rosalind Pike", await (await pages.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        var told = await pages.PostFormAsync(page, ("Version", "1"), ("Parts.Diary", "true"));
        Assert.Contains("Nobody could change the settings then", await told.TextAsync(), StringComparison.Ordinal);
        Assert.Equal(OfficeParts.All, await host.WithDbAsync(db => db.Set<Person>().Where(p => p.Id == only.Id).Select(p => p.Parts).SingleAsync()));
    }

    [Fact]
    public async Task Of_two_who_give_the_settings_up_at_once_one_keeps_them()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        for (var round = 0; round < 4; round++)
        {
            await host.WithDbAsync(db => db.Set<Person>().ExecuteUpdateAsync(set => set.SetProperty(p => p.Closed, true)));
            Person[] two = [await host.Data.OfficeAsync(), await host.Data.OfficeAsync("Sorrel Wick")];
            using var first = await host.ApiAsAsync(two[0]);
            using var second = await host.ApiAsAsync(two[1]);
            var codes = await Task.WhenAll(new[] { first, second }.Select(async (api, n) =>
                (await api.SendJsonAsync(HttpMethod.Put, $"/api/v1/sign-ins/{two[n].Id}/hats", new { parts = new[] { "diary" } }, etag: "*")).StatusCode));
            Assert.Equal([HttpStatusCode.OK, HttpStatusCode.UnprocessableEntity], codes.Order());
            Assert.Equal(1, await host.WithDbAsync(db => db.Set<Person>().CountAsync(p => !p.Closed && (p.Parts & OfficeParts.Settings) != OfficeParts.None)));
        }
    }

    [Fact]
    public async Task The_owner_who_teaches_has_one_navigation_and_begins_with_the_day()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var owner = await host.Data.WearerAsync(instructor.Name, instructor.Email, OfficeParts.All, instructor.Id);
        await host.WithLessonsAheadAsync(1);
        using var pages = await host.PagesAsAsync(owner);
        Assert.Equal("/diary/day", (await pages.GetAsync("/")).Headers.Location?.OriginalString);
        var day = await (await pages.GetAsync("/diary/day")).TextAsync();
        foreach (var place in new[] { "/diary/day", "/diary/board", "/diary/week", "/pupils", "/people/instructors", "/diary/attention", "/people/school", "/people/account" })
        {
            Assert.Equal(1, Count(day, $"<li class=\"\"><a href=\"{place}\"") + Count(day, $"<li class=\"wide-only\"><a href=\"{place}\"") + Count(day, $"<li><a href=\"{place}\""));
        }
    }

    [Fact]
    public async Task An_instructor_who_looks_after_the_money_sees_their_own_diary_only_and_nothing_guarded_by_it()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (own, other) = (await host.Data.InstructorAsync(), await host.Data.InstructorAsync("Alder Fenwick"));
        var person = await host.Data.WearerAsync(own.Name, own.Email, OfficeParts.Money | OfficeParts.Settings, own.Id);
        var lesson = await LessonAsync(host, other.Id, (await host.Data.PupilAsync()).Id);
        using var api = await host.ApiAsAsync(person);
        Assert.Equal(HttpStatusCode.NotFound, (await api.GetAsync($"/api/v1/lessons/{lesson}")).StatusCode);
        Assert.Empty((await api.GetJsonAsync("/api/v1/lessons")).GetProperty("items").EnumerateArray());
        Assert.Equal(HttpStatusCode.NotFound, (await api.GetAsync($"/api/v1/instructors/{other.Id}/day/2026-03-09")).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await api.GetAsync("/api/v1/attention")).StatusCode);
    }

    [Fact]
    public async Task Who_looks_after_people_without_what_is_confidential_opens_no_health_notes()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pupil = await host.Data.PupilAsync();
        using var people = await host.ApiAsAsync(await host.Data.WearerAsync("Sorrel Wick", "sorrel@larkfield.example", OfficeParts.Diary | OfficeParts.People));
        Assert.Equal(HttpStatusCode.OK, (await people.GetAsync($"/api/v1/pupils/{pupil.Id}")).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await people.GetAsync($"/api/v1/pupils/{pupil.Id}/guarded")).StatusCode);
        using var both = await host.ApiAsAsync(await host.Data.WearerAsync("Linnet Brook", "linnet@larkfield.example", OfficeParts.People | OfficeParts.Confidential));
        Assert.Equal(HttpStatusCode.OK, (await both.GetAsync($"/api/v1/pupils/{pupil.Id}/guarded")).StatusCode);
        using var alone = await host.ApiAsAsync(await host.Data.WearerAsync("Clover Ash", "clover@larkfield.example", OfficeParts.Confidential));
        Assert.Equal(HttpStatusCode.NotFound, (await alone.GetAsync($"/api/v1/pupils/{pupil.Id}/guarded")).StatusCode);
    }

    [Fact]
    public async Task An_instructor_who_learns_meets_their_own_lesson_as_the_pupil()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (own, teacher) = (await host.Data.InstructorAsync(), await host.Data.InstructorAsync("Alder Fenwick"));
        var pupil = await host.Data.PupilAsync("Marigold Ashby");
        var stranger = await host.Data.PupilAsync("Bryony Vale");
        var person = await host.Data.WearerAsync(own.Name, own.Email, OfficeParts.None, own.Id, pupil.Id);
        using var api = await host.ApiAsAsync(person);
        // Inside the notice: staff may move and give the school's reasons, a pupil may not.
        var soon = await LessonAsync(host, teacher.Id, pupil.Id, Duration.FromHours(5));
        Assert.Equal(HttpStatusCode.OK, (await api.GetAsync($"/api/v1/lessons/{soon}")).StatusCode);
        var start = host.Clock.GetCurrentInstant() + Duration.FromDays(8);
        Assert.Equal("inside_move_notice", await (await api.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{soon}/move", new { start = start.ToString() }, etag: "*")).CodeAsync());
        Assert.Equal(HttpStatusCode.BadRequest, (await api.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{soon}/cancel", new { reason = "weather" }, etag: "*")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await api.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{soon}/missed", new { }, etag: "*")).StatusCode);
        // Themselves they book with anybody; another pupil only with themselves.
        var book = new { pupilId = stranger.Id, instructorId = teacher.Id, start = start.ToString(), minutes = 60 };
        Assert.Equal(HttpStatusCode.NotFound, (await api.SendJsonAsync(HttpMethod.Post, "/api/v1/lessons", book)).StatusCode);
        Assert.NotEqual(HttpStatusCode.NotFound, (await api.SendJsonAsync(HttpMethod.Post, "/api/v1/lessons", book with { pupilId = pupil.Id })).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await api.GetAsync($"/api/v1/lessons/{await LessonAsync(host, teacher.Id, stranger.Id)}")).StatusCode);
    }

    [Fact]
    public async Task Who_looks_after_people_neither_closes_nor_reopens_the_sign_in_of_somebody_who_may_do_more()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        await host.Data.OfficeAsync();
        var instructor = await host.Data.InstructorAsync();
        var owner = await host.Data.WearerAsync(instructor.Name, instructor.Email, OfficeParts.All, instructor.Id);
        using var people = await host.PagesAsAsync(await host.Data.WearerAsync("Sorrel Wick", "sorrel@larkfield.example", OfficeParts.People));
        var page = $"/people/instructors/{instructor.Id}";
        Assert.Contains("are of the office as well", await (await people.PostFormAsync(page, $"{page}?handler=Close")).TextAsync(), StringComparison.Ordinal);
        await host.WithDbAsync(db => db.Set<Person>().Where(p => p.Id == owner.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.Closed, true)));
        Assert.Contains("decided by whoever looks after the settings", await (await people.PostFormAsync(page, $"{page}?handler=Invite")).TextAsync(), StringComparison.Ordinal);
        Assert.Empty(await Mails.OfAsync(host, instructor.Email, "invitation"));
    }

    [Fact]
    public async Task Who_stops_teaching_keeps_their_other_hats_and_who_has_none_signs_in_no_more()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.ApiAsAsync(await host.Data.OfficeAsync());
        var (owner, teacher) = (await host.Data.InstructorAsync(), await host.Data.InstructorAsync("Alder Fenwick"));
        var both = await host.Data.WearerAsync(owner.Name, owner.Email, OfficeParts.Diary, owner.Id);
        var one = await host.Data.PersonAsync(teacher);
        foreach (var instructor in new[] { owner, teacher })
        {
            Assert.Equal(HttpStatusCode.OK, (await office.SendJsonAsync(HttpMethod.Post, $"/api/v1/instructors/{instructor.Id}/retire", new { on = "2026-03-02" }, etag: "*")).StatusCode);
        }

        var after = await host.WithDbAsync(db => db.Set<Person>().ToDictionaryAsync(p => p.Id));
        Assert.Equal((false, null, OfficeParts.Diary), (after[both.Id].Closed, after[both.Id].InstructorId, after[both.Id].Parts));
        Assert.True(after[one.Id].Closed);
    }

    [Fact]
    public async Task A_pupil_who_joins_the_office_signs_in_again_as_staff()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var pupil = await host.Data.PupilAsync();
        var person = await host.Data.PersonAsync(pupil);
        using var theirs = await host.PagesAsAsync(person);
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync($"/people/hats/{person.Id}", ("Version", "1"), ("Parts.Diary", "true"), ("StaysPupil", "true"))).StatusCode);
        Assert.StartsWith("/people/sign-in", (await theirs.GetAsync("/diary/home")).Headers.Location?.OriginalString, StringComparison.Ordinal);

        // The other way about: somebody of the office who begins to learn.
        var learner = await host.Data.PupilAsync("Sorrel Wick");
        var colleague = await host.Data.WearerAsync("Sorrel Wick", learner.Email, OfficeParts.Diary);
        var page = $"/pupils/{learner.Id}/signs-in-already";
        Assert.Contains($"Who signs in as {learner.Email}", await (await office.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        Assert.Contains("Choose who of them it is", await (await office.PostFormAsync(page)).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync(page, ("Person", colleague.Id.ToString()))).StatusCode);
        using var both = await host.PagesAsAsync(colleague);
        Assert.Equal(HttpStatusCode.OK, (await both.GetAsync("/diary/home")).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await both.GetAsync("/diary/board")).StatusCode);
    }

    private static async Task<Guid> LessonAsync(SchoolHost host, Guid instructor, Guid pupil, Duration? ahead = null)
    {
        var start = host.Clock.GetCurrentInstant() + (ahead ?? Duration.FromDays(7));
        var place = TestData.PlaceAt();
        var lesson = Lesson.Book(pupil, instructor, (await host.Data.CarAsync()).Id, new(start, start + Duration.FromHours(1)), place, place, host.Clock.GetCurrentInstant());
        await host.AddAsync(lesson);
        return lesson.Id;
    }

    private static int Count(string text, string part) => text.Split(part).Length - 1;
}
