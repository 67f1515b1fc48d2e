using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Tests.Diary.Settings;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;
using static School.Web.Tests.Diary.Waiting.WaitingSchool;

namespace School.Web.Tests.Diary.Waiting;

/// <summary>Kinds of lesson and breaks on the waiting list and in what it offers.</summary>
public sealed class WaitingKindsTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_lesson_with_breaks_is_offered_until_its_end_and_taken_as_it_was_offered()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var waiter = await school.WaiterAsync("Tamsin Oakley", "earlierLesson");
        var later = await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/lessons", new
        {
            pupilId = waiter.Id,
            instructorId = school.InstructorId,
            start = Text(London(2026, 3, 9, 10)),
            minutes = 240,
            kind = "intensive",
        })).JsonAsync(HttpStatusCode.Created);
        await (await JoinAsync(waiter.Api, waiter.Id, "earlierLesson")).JsonAsync(HttpStatusCode.Created);
        await school.CancelAsync();
        await school.RoundAsync();

        var offer = await OfferAsync(waiter.Api);
        Assert.Equal(("intensive", 240, Thursday10 + Duration.FromMinutes(255)), (offer.Word("kind"), offer.GetProperty("minutes").GetInt32(), offer.Moment("end")));
        Assert.Equal(Thursday10 + Duration.FromHours(2), offer.GetProperty("breaks")[0].Moment("start"));
        var letter = Assert.Single(await school.LettersAsync("waiting_offer"));
        Assert.Contains("10:00 to 14:15", letter.Text, StringComparison.Ordinal);
        Assert.Contains("Intensive lesson", letter.Text, StringComparison.Ordinal);
        Assert.Contains("12:00 to 12:15", letter.Text, StringComparison.Ordinal);
        using var pupil = await school.Host.PagesAsAsync(await school.Host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.PupilId == waiter.Id)));
        var page = await (await pupil.GetAsync($"/diary/offers/{offer.Id()}")).TextAsync();
        Assert.Contains("12:00 to 12:15", page, StringComparison.Ordinal);
        Assert.Contains("Intensive lesson", page, StringComparison.Ordinal);

        var moved = await (await AnswerAsync(waiter.Api, offer.Id())).JsonAsync();
        Assert.Equal((later.Id(), "intensive", offer.Moment("start"), offer.Moment("end")), (moved.Id(), moved.Word("kind"), moved.Moment("start"), moved.Moment("end")));
    }

    [Fact]
    public async Task An_offer_whose_breaks_would_be_others_by_now_has_gone()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var waiter = await school.WaiterAsync("Tamsin Oakley", "earlierLesson");
        var later = await school.Office.BookedAsync(waiter.Id, school.InstructorId, London(2026, 3, 9, 10), 240);
        await (await JoinAsync(waiter.Api, waiter.Id, "earlierLesson")).JsonAsync(HttpStatusCode.Created);
        await school.CancelAsync();
        await school.RoundAsync();
        var offer = await OfferAsync(waiter.Api);
        var rules = System.Text.Json.Nodes.JsonNode.Parse((await school.Office.GetJsonAsync("/api/v1/diary/settings")).GetRawText())!.AsObject();
        rules["restMinutes"] = 30;
        await (await school.Office.SendJsonAsync(HttpMethod.Put, "/api/v1/diary/settings", rules, etag: "*")).JsonAsync();

        // Nobody else has it, so nobody is said to.
        var refused = await AnswerAsync(waiter.Api, offer.Id());
        Assert.Contains("cannot be had as it was offered any more", await refused.TextAsync(), StringComparison.Ordinal);
        Assert.Equal("offer_gone", await refused.CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal(later.Moment("start"), (await school.Office.GetJsonAsync($"/api/v1/lessons/{later.Id()}")).Moment("start"));
        await school.RoundAsync();
        Assert.Equal("gone", Assert.Single(await OffersAsync(waiter.Api)).Word("state"));
        Assert.Contains("cannot be had as it was offered any more", Assert.Single(await school.LettersAsync("waiting_offer_ended")).Text, StringComparison.Ordinal);
        using var pupil = await school.Host.PagesAsAsync(await school.Host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.PupilId == waiter.Id)));
        var page = await (await pupil.GetAsync($"/diary/offers/{offer.Id()}")).TextAsync();
        Assert.Contains("cannot be had as it was offered any more", page, StringComparison.Ordinal);
        Assert.DoesNotContain("somebody else", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Who_waits_for_a_kind_that_is_given_no_longer_is_told_to_the_office_and_the_entry_says_it()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("mock", "Mock test", [75]));
        var pupil = await school.Host.Data.PupilAsync("Tamsin Oakley");
        var waits = await (await WaitAsync(school.Office, pupil.Id, "mock")).JsonAsync(HttpStatusCode.Created);
        Assert.True(waits.GetProperty("kindGiven").GetBoolean());
        Assert.DoesNotContain("waiting_in_vain", (await school.Office.GetJsonAsync("/api/v1/attention")).GetRawText(), StringComparison.Ordinal);

        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("mock", "Mock test", [75], offered: false));
        var told = (await school.Office.GetJsonAsync("/api/v1/attention")).GetProperty("items").EnumerateArray().Single(item => item.Word("kind") == "waiting_in_vain");
        Assert.StartsWith("Tamsin Oakley waits for mock test", told.Word("sentence"), StringComparison.Ordinal);
        Assert.False((await school.Office.GetJsonAsync($"/api/v1/waiting-list/{waits.Id()}")).GetProperty("kindGiven").GetBoolean());
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        Assert.Contains("no longer given: change it, nothing is offered", await (await office.GetAsync("/diary/waiting")).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.NoContent, (await school.Office.DeleteAsync($"/api/v1/waiting-list/{waits.Id()}")).StatusCode);
        Assert.DoesNotContain("waiting_in_vain", (await school.Office.GetJsonAsync("/api/v1/attention")).GetRawText(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Who_waits_for_a_kind_of_lesson_is_offered_that()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("mock", "Mock test", [75]), KindsTests.Kind("refresher", "Refresher", pupilsBook: true));
        var pupil = await school.Host.Data.PupilAsync("Tamsin Oakley");
        using var api = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(pupil));
        // A pupil waits for what a pupil books.
        Assert.Equal("kind_booked_by_school", await (await WaitAsync(api, pupil.Id, "mock")).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var waits = await (await WaitAsync(school.Office, pupil.Id, "mock")).JsonAsync(HttpStatusCode.Created);
        Assert.Equal("mock", waits.Word("kind"));
        var earlier = await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/waiting-list", new { pupilId = pupil.Id, @for = "earlierLesson", kind = "mock" })).JsonAsync(HttpStatusCode.BadRequest);
        Assert.Equal(["kind"], earlier.GetProperty("errors").EnumerateObject().Select(error => error.Name));
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        Assert.Contains("Mock test, Monday 2 to Sunday 8 March", await (await office.GetAsync("/diary/waiting")).TextAsync(), StringComparison.Ordinal);

        await school.CancelAsync();
        await school.RoundAsync();
        var offer = await OfferAsync(api);
        Assert.Equal(("mock", 75), (offer.Word("kind"), offer.GetProperty("minutes").GetInt32()));
        // Other days by the pupil, who could not book that kind: it stays, and so does what was offered.
        var days = await (await api.SendJsonAsync(HttpMethod.Put, $"/api/v1/waiting-list/{waits.Id()}", new { @for = "anyLesson", from = "2026-03-03", to = "2026-03-08" }, etag: "*")).JsonAsync();
        Assert.Equal("mock", days.Word("kind"));
        Assert.Equal("open", (await OffersAsync(api))[0].Word("state"));
        // Another kind is wanted: what was offered ends, and the next round offers that.
        var changed = await school.Office.SendJsonAsync(HttpMethod.Put, $"/api/v1/waiting-list/{waits.Id()}", new { @for = "anyLesson", kind = "refresher" }, etag: "*");
        Assert.Equal("refresher", (await changed.JsonAsync()).Word("kind"));
        Assert.Equal("declined", (await OffersAsync(api))[0].Word("state"));
    }

    [Fact]
    public async Task A_lesson_taken_from_the_list_is_of_the_kind_that_was_waited_for()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var pupil = await school.Host.Data.PupilAsync("Tamsin Oakley");
        using var api = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(pupil));
        await (await WaitAsync(school.Office, pupil.Id, "motorway")).JsonAsync(HttpStatusCode.Created);
        await school.CancelAsync();
        // By a trainee there is no motorway lesson to offer.
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.Registration, Core.Diary.RegistrationKind.Trainee).SetProperty(i => i.RegisteredFrom, new NodaTime.LocalDate(2026, 1, 1))));
        await school.RoundAsync();
        Assert.Empty(await OffersAsync(api));
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.Registration, Core.Diary.RegistrationKind.Approved).SetProperty(i => i.RegisteredFrom, new NodaTime.LocalDate(2026, 1, 1))));
        await school.RoundAsync();
        var lesson = await (await AnswerAsync(api, (await OfferAsync(api)).Id())).JsonAsync();
        Assert.Equal(("motorway", Thursday10), (lesson.Word("kind"), lesson.Moment("start")));
    }

    [Fact]
    public async Task The_kind_is_chosen_where_a_pupil_is_put_on_the_list_and_where_that_is_changed()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var pupil = await school.Host.Data.PupilAsync("Tamsin Oakley");
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        Assert.Equal(HttpStatusCode.Redirect, (await office.PostFormAsync("/diary/waiting", ("Pupil", $"{pupil.Id}"), ("For", "AnyLesson"), ("Kind", "Mock"))).StatusCode);
        var entry = (await school.Office.GetJsonAsync("/api/v1/waiting-list")).GetProperty("items")[0];
        Assert.Equal("mock", entry.Word("kind"));
        var page = $"/diary/waiting/{entry.Id()}/change";
        Assert.Contains("Now: mock test, Monday 2 to Sunday 8 March", await (await office.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        await office.PostFormAsync(page, ("For", "AnyLesson"), ("Kind", "Assessment"), ("Version", "1"));
        Assert.Equal("assessment", (await school.Office.GetJsonAsync($"/api/v1/waiting-list/{entry.Id()}")).Word("kind"));
    }

    private static Task<HttpResponseMessage> WaitAsync(HttpClient api, Guid pupil, string kind) =>
        api.SendJsonAsync(HttpMethod.Post, "/api/v1/waiting-list", new { pupilId = pupil, @for = "anyLesson", kind });
}
