using System.Net;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.Records;
using School.Web.Tests.Diary.TestDays;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;
using static School.Web.Tests.Diary.Waiting.WaitingSchool;

namespace School.Web.Tests.Diary.Waiting;

public sealed partial class WaitingTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_cancelled_lesson_is_offered_in_fair_order_and_the_first_to_accept_has_it()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var (first, second, third, fourth) = (
            await school.WaiterAsync("Tamsin Oakley"), await school.WaiterAsync("Idris Bell"), await school.WaiterAsync("Marlo Fenn"), await school.WaiterAsync("Corin Vale"));
        await school.CancelAsync();
        await school.RoundAsync();
        await school.RoundAsync();

        Assert.Equal(["Idris Bell", "Marlo Fenn", "Tamsin Oakley"], (await school.LettersAsync("waiting_offer")).Select(m => m.ToName));
        Assert.Empty(await OffersAsync(fourth.Api));
        var lesson = await (await AnswerAsync(second.Api, (await OfferAsync(second.Api)).Id())).JsonAsync();
        Assert.Equal(Thursday10, lesson.Moment("start"));
        Assert.Equal(second.Id, lesson.Id("pupilId"));

        var late = await AnswerAsync(first.Api, (await OffersAsync(first.Api))[0].Id());
        Assert.Equal("offer_gone", await late.CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal(["Marlo Fenn", "Tamsin Oakley"], (await school.LettersAsync("waiting_offer_ended")).Select(m => m.ToName));
        var waiting = await school.Office.GetJsonAsync("/api/v1/waiting-list");
        Assert.Equal([first.Id, third.Id, fourth.Id], waiting.GetProperty("items").EnumerateArray().Select(w => w.Id("pupilId")));
    }

    [Fact]
    public async Task A_lesson_more_is_offered_only_to_whom_the_licence_was_seen_of()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var (known, unseen) = (await school.WaiterAsync("Tamsin Oakley"), await school.WaiterAsync("Idris Bell"));
        await school.Host.WithDbAsync(db => db.Set<Modules.Pupils.Pupil>().Where(p => p.Id == unseen.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.LicenceFrom, (LocalDate?)null)));
        await school.CancelAsync();
        await school.RoundAsync();
        await school.RoundAsync();
        Assert.Empty(await OffersAsync(unseen.Api));
        Assert.Single(await OffersAsync(known.Api));
    }

    [Fact]
    public async Task A_test_day_that_is_moved_or_taken_off_leaves_its_time_to_those_who_wait()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var learner = (await school.Host.Data.PupilAsync("Corin Vale")).Id;
        (string, object?)[] with = [("instructorId", school.InstructorId), ("ownCar", true)];
        // Keeps 13:14 to 15:14, then 13:44 to 15:44: half an hour is too short for a lesson.
        var id = (await school.Office.EnteredAsync(learner, London(2026, 3, 5, 14, 14), with)).Id();
        var waiter = await school.WaiterAsync("Tamsin Oakley");
        await (await school.Office.ChangeAsync(id, learner, London(2026, 3, 5, 14, 44), with)).JsonAsync();
        await school.RoundAsync();
        Assert.Empty(await OffersAsync(waiter.Api));

        // On another day it leaves 13:44 to 15:44, in which one lesson of an hour stands on the grid.
        await (await school.Office.ChangeAsync(id, learner, London(2026, 3, 6, 14, 14), with)).JsonAsync();
        await school.RoundAsync();
        Assert.Equal(London(2026, 3, 5, 13, 45), (await OfferAsync(waiter.Api)).Moment("start"));

        await (await AnswerAsync(waiter.Api, (await OfferAsync(waiter.Api)).Id())).JsonAsync();
        var second = await school.WaiterAsync("Idris Bell");
        await school.Office.SendJsonAsync(HttpMethod.Delete, $"{TestDayApi.Path}/{id}");
        await school.RoundAsync();
        Assert.Equal(London(2026, 3, 6, 13, 15), (await OfferAsync(second.Api)).Moment("start"));
    }

    [Fact]
    public async Task What_is_wanted_is_changed_without_losing_the_place_in_the_order()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<WaitingSettings>().ExecuteUpdateAsync(set => set.SetProperty(s => s.AtOnce, 1)));
        var (first, second) = (await school.WaiterAsync("Tamsin Oakley"), await school.WaiterAsync("Idris Bell"));
        var list = (await school.Office.GetJsonAsync("/api/v1/waiting-list")).GetProperty("items");
        var one = $"/api/v1/waiting-list/{list[0].Id()}";
        var wish = new { @for = "anyLesson", from = "2026-03-04", to = "2026-03-12", instructorId = school.InstructorId };

        Assert.Equal(HttpStatusCode.PreconditionRequired, (await first.Api.SendJsonAsync(HttpMethod.Put, one, wish)).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await second.Api.SendJsonAsync(HttpMethod.Put, one, wish, etag: "*")).StatusCode);
        var changed = await (await first.Api.SendJsonAsync(HttpMethod.Put, one, wish, etag: "\"1\"")).JsonAsync();
        Assert.Equal(("2026-03-12", list[0].Word("since")), (changed.Word("to"), changed.Word("since")));
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await school.Office.SendJsonAsync(HttpMethod.Put, one, wish, etag: "\"1\"")).StatusCode);
        var backwards = new { @for = "anyLesson", from = "2026-03-12", to = "2026-03-04" };
        Assert.Equal(HttpStatusCode.BadRequest, (await first.Api.SendJsonAsync(HttpMethod.Put, one, backwards, etag: "*")).StatusCode);
        Assert.Equal("no_lesson_ahead", await (await first.Api.SendJsonAsync(HttpMethod.Put, one, new { @for = "earlierLesson" }, etag: "*")).CodeAsync(HttpStatusCode.UnprocessableEntity));

        await school.CancelAsync();
        await school.RoundAsync();
        Assert.Equal(Thursday10, (await OfferAsync(first.Api)).Moment("start"));

        // Only from Friday on: the offer for Thursday ends without a letter, and the next is asked.
        await (await school.Office.SendJsonAsync(HttpMethod.Put, one, new { @for = "anyLesson", from = "2026-03-06", to = "2026-03-12" }, etag: "*")).JsonAsync();
        Assert.Equal("declined", (await OffersAsync(first.Api))[0].Word("state"));
        await school.RoundAsync();
        Assert.Equal(Thursday10, (await OfferAsync(second.Api)).Moment("start"));
        Assert.Empty(await school.LettersAsync("waiting_offer_ended"));
        var lines = await school.Host.WithDbAsync(db => db.Set<AuditEntry>().Where(a => a.What == "waiting.change").OrderBy(a => a.Id).Select(a => a.Words).ToListAsync());
        Assert.Equal(2, lines.Count);
        Assert.Contains("from 4 March 2026 → 6 March 2026", lines[1], StringComparison.Ordinal);

        await first.Api.SendJsonAsync(HttpMethod.Delete, one);
        Assert.Equal("waiting_closed", await (await first.Api.SendJsonAsync(HttpMethod.Put, one, wish, etag: "*")).CodeAsync(HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task Pupil_and_office_change_what_is_wanted_on_its_page()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var pupil = await school.Host.Data.PupilAsync("Tamsin Oakley");
        using var own = await school.Host.PagesAsAsync(await school.Host.Data.PersonAsync(pupil));
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Linnet Brook"));
        await own.PostFormAsync("/diary/waiting", ("For", "AnyLesson"));
        var entry = await school.Host.WithDbAsync(db => db.Set<WaitingEntry>().AsNoTracking().SingleAsync());
        var page = $"/diary/waiting/{entry.Id}/change";
        Assert.Contains(page, await (await own.GetAsync("/diary/waiting")).TextAsync(), StringComparison.Ordinal);
        var form = await (await office.GetAsync(page)).TextAsync();
        Assert.Contains("Tamsin Oakley has waited since", form, StringComparison.Ordinal);
        Assert.Contains("value=\"2026-03-08\"", form, StringComparison.Ordinal);

        var wrong = await own.PostFormAsync(page, ("For", "AnyLesson"), ("From", "2026-03-09"), ("To", "2026-03-05"), ("Version", "1"));
        Assert.Contains("The last day must not be before the first.", await wrong.TextAsync(), StringComparison.Ordinal);
        var saved = await own.PostFormAsync(page, ("For", "AnyLesson"), ("From", "2026-03-09"), ("To", "2026-03-15"), ("With", $"{school.InstructorId}"), ("Version", "1"));
        Assert.Equal("/diary/waiting", saved.Headers.Location?.OriginalString);
        Assert.Contains("Monday 9 to Sunday 15 March", await (await own.GetAsync("/diary/waiting")).TextAsync(), StringComparison.Ordinal);
        Assert.Contains(
            "Somebody changed this after you opened it",
            await (await office.PostFormAsync(page, ("For", "AnyLesson"), ("From", "2026-03-09"), ("To", "2026-03-15"), ("Version", "1"))).TextAsync(), StringComparison.Ordinal);
        Assert.Equal(entry.Since, await school.Host.WithDbAsync(db => db.Set<WaitingEntry>().Select(w => w.Since).SingleAsync()));
    }

    [Fact]
    public async Task A_test_day_without_an_instructor_leaves_nobodys_time()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var learner = (await school.Host.Data.PupilAsync("Corin Vale")).Id;
        var id = (await school.Office.EnteredAsync(learner, London(2026, 3, 5, 14), ("ownCar", true))).Id();
        await school.Office.SendJsonAsync(HttpMethod.Delete, $"{TestDayApi.Path}/{id}");
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<FreedSlot>().CountAsync()));
    }

    [Fact]
    public async Task An_earlier_lesson_is_moved_and_the_time_it_leaves_is_offered_on()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var (mover, api) = await school.WaiterAsync("Tamsin Oakley", "");
        var friday = London(2026, 3, 6, 14);
        var booked = await school.Office.BookedAsync(mover, school.InstructorId, friday);
        await (await JoinAsync(api, mover, "earlierLesson")).JsonAsync(HttpStatusCode.Created);
        var other = await school.WaiterAsync("Idris Bell");
        await school.CancelAsync();
        await school.RoundAsync();

        var moved = await (await AnswerAsync(api, (await OfferAsync(api)).Id())).JsonAsync();
        Assert.Equal((booked.Id(), Thursday10), (moved.Id(), moved.Moment("start")));
        await school.RoundAsync();
        Assert.Equal(friday, (await OfferAsync(other.Api)).Moment("start"));
    }

    [Fact]
    public async Task An_offer_that_is_not_answered_lapses_is_refused_afterwards_and_the_next_are_asked()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<WaitingSettings>().ExecuteUpdateAsync(set => set.SetProperty(s => s.AtOnce, 1)));
        var (first, second) = (await school.WaiterAsync("Tamsin Oakley"), await school.WaiterAsync("Idris Bell"));
        await school.CancelAsync();
        await school.RoundAsync();
        var offer = (await OfferAsync(first.Api)).Id();
        Assert.Empty(await OffersAsync(second.Api));

        school.Host.Clock.AdvanceMinutes(60);
        Assert.Equal("offer_lapsed", await (await AnswerAsync(first.Api, offer)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await school.RoundAsync();
        Assert.Equal("lapsed", (await OffersAsync(first.Api))[0].Word("state"));
        await (await AnswerAsync(second.Api, (await OfferAsync(second.Api)).Id())).JsonAsync();
    }

    [Fact]
    public async Task An_offer_is_accepted_once_and_a_declined_one_not_at_all()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var (first, second) = (await school.WaiterAsync("Tamsin Oakley"), await school.WaiterAsync("Idris Bell"));
        await school.CancelAsync();
        await school.RoundAsync();
        var declined = (await OfferAsync(second.Api)).Id();
        await (await AnswerAsync(second.Api, declined, "decline")).JsonAsync();
        Assert.Equal("offer_closed", await (await AnswerAsync(second.Api, declined)).CodeAsync(HttpStatusCode.Conflict));

        var offer = (await OfferAsync(first.Api)).Id();
        await (await AnswerAsync(first.Api, offer)).JsonAsync();
        Assert.Equal("offer_accepted", await (await AnswerAsync(first.Api, offer)).CodeAsync(HttpStatusCode.Conflict));
        Assert.Equal(1, await school.Host.WithDbAsync(db => db.Set<Lesson>().CountAsync(l => l.State == LessonState.Booked)));
    }

    [Fact]
    public async Task When_somebody_books_the_time_meanwhile_those_offered_it_are_told()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var waiter = await school.WaiterAsync("Tamsin Oakley");
        await school.CancelAsync();
        await school.RoundAsync();
        await school.Office.BookedAsync((await school.Host.Data.PupilAsync("Corin Vale")).Id, school.InstructorId, Thursday10);
        var offer = (await OfferAsync(waiter.Api)).Id();
        Assert.Equal("offer_gone", await (await AnswerAsync(waiter.Api, offer)).CodeAsync(HttpStatusCode.Conflict));
        await school.RoundAsync();
        Assert.Equal("gone", (await OffersAsync(waiter.Api))[0].Word("state"));
        Assert.Single(await school.LettersAsync("waiting_offer_ended"));
    }

    [Fact]
    public async Task A_time_that_illness_or_the_car_leaves_is_not_offered_and_neither_is_one_that_does_not_fit()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var waiter = await school.WaiterAsync("Tamsin Oakley");
        await (await school.Office.CancelAsync(school.LessonId, "instructorIll")).JsonAsync();
        await school.RoundAsync();
        Assert.Empty(await OffersAsync(waiter.Api));

        var saturday = await school.Office.BookedAsync((await school.Host.Data.PupilAsync("Corin Vale")).Id, school.InstructorId, London(2026, 3, 20, 10));
        await (await school.Office.CancelAsync(saturday.Id())).JsonAsync();
        await school.RoundAsync();
        // The pupil waits for this week only.
        Assert.Empty(await OffersAsync(waiter.Api));
    }

    [Fact]
    public async Task Who_leaves_the_list_is_offered_nothing_more_and_their_open_offer_ends()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var waiter = await school.WaiterAsync("Tamsin Oakley");
        await school.CancelAsync();
        await school.RoundAsync();
        var entry = (await waiter.Api.GetJsonAsync("/api/v1/waiting-list")).GetProperty("items")[0].Id();
        Assert.Equal(HttpStatusCode.NoContent, (await waiter.Api.DeleteAsync($"/api/v1/waiting-list/{entry}")).StatusCode);
        Assert.Equal("declined", (await OffersAsync(waiter.Api))[0].Word("state"));
        Assert.Equal(HttpStatusCode.Conflict, (await waiter.Api.DeleteAsync($"/api/v1/waiting-list/{entry}")).StatusCode);
    }

    [Fact]
    public async Task What_contradicts_itself_is_refused()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var (id, api) = await school.WaiterAsync("Tamsin Oakley", "");
        Assert.Equal("no_lesson_ahead", await (await JoinAsync(api, id, "earlierLesson")).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var backwards = await (await JoinAsync(api, id, "anyLesson", "2026-03-06", "2026-03-05")).JsonAsync(HttpStatusCode.BadRequest);
        Assert.True(backwards.GetProperty("errors").TryGetProperty("to", out _));
        Assert.Equal("invalid", await (await JoinAsync(api, id, "anyLesson", "2025-03-01", "2025-03-02")).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal("invalid", await (await JoinAsync(api, id, "anyLesson", "2026-03-06", "2026-06-05")).CodeAsync(HttpStatusCode.BadRequest));
        Assert.Equal("invalid", await (await JoinAsync(api, id, "anyLesson", "9999-12-31", "9999-12-31")).CodeAsync(HttpStatusCode.BadRequest));
        await (await JoinAsync(api, id, "anyLesson")).JsonAsync(HttpStatusCode.Created);
        Assert.Equal("already_waiting", await (await JoinAsync(api, id, "anyLesson")).CodeAsync(HttpStatusCode.Conflict));
        var (_, stranger) = await school.WaiterAsync("Idris Bell");
        Assert.Equal("not_found", await (await JoinAsync(stranger, id, "anyLesson")).CodeAsync(HttpStatusCode.NotFound));
    }

    [Fact]
    public async Task The_link_in_the_letter_opens_the_offer_accepts_by_a_button_only_and_a_wrong_key_finds_nothing()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var waiter = await school.WaiterAsync("Tamsin Oakley");
        await school.CancelAsync();
        await school.RoundAsync();
        var letter = Assert.Single(await school.LettersAsync("waiting_offer"));
        var path = Link().Match(letter.Text).Value;
        using var browser = school.Host.Browser();
        var id = (await OfferAsync(waiter.Api)).Id();
        Assert.Equal(HttpStatusCode.NotFound, (await browser.GetAsync($"/diary/offers/{id}")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await browser.GetAsync($"/diary/offers/{id}?key=guess")).StatusCode);
        Assert.Contains("Thursday 5 March, 10:00 to 11:00", await (await browser.GetAsync(path)).TextAsync());
        Assert.Equal("open", (await OffersAsync(waiter.Api))[0].Word("state"));

        var key = path[(path.IndexOf("key=", StringComparison.Ordinal) + 4)..];
        var pressed = await browser.PostFormAsync(path, $"/diary/offers/{id}", ("key", key));
        Assert.Equal(HttpStatusCode.Redirect, pressed.StatusCode);
        Assert.Contains("You have accepted this offer", await (await browser.GetAsync(path)).TextAsync());
    }

    [Fact]
    public async Task The_page_puts_a_pupil_on_the_list_and_takes_them_off()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var pupil = await school.Host.Data.PupilAsync("Tamsin Oakley");
        using var browser = await school.Host.PagesAsAsync(await school.Host.Data.PersonAsync(pupil));
        Assert.Contains("Choose what is wanted.", await (await browser.PostFormAsync("/diary/waiting")).TextAsync());
        await browser.PostFormAsync("/diary/waiting", ("for", "AnyLesson"), ("from", "2026-03-03"), ("to", "2026-03-06"));
        Assert.Contains("Any lesson, Tuesday 3 to Friday 6 March", await (await browser.GetAsync("/diary/waiting")).TextAsync());
        var entry = await school.Host.WithDbAsync(db => db.Set<WaitingEntry>().SingleAsync());
        await browser.PostFormAsync("/diary/waiting", "/diary/waiting?handler=leave", ("entry", $"{entry.Id}"));
        Assert.Contains("You are not waiting for anything", await (await browser.GetAsync("/diary/waiting")).TextAsync());
    }

    [Fact]
    public async Task The_settings_have_bounds_and_wants_the_version_that_was_read()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var read = await school.Office.GetAsync("/api/v1/waiting-settings");
        Assert.Equal(60, (await read.JsonAsync()).GetProperty("heldMinutes").GetInt32());
        object Wanted(int held) => new { heldMinutes = held, atOnce = 2, leadMinutes = 60, latelyDays = 7, order = "fewestLessons" };
        var wrong = await school.Office.SendJsonAsync(HttpMethod.Put, "/api/v1/waiting-settings", Wanted(1), etag: read.Headers.ETag!.Tag);
        Assert.Equal("invalid", await wrong.CodeAsync(HttpStatusCode.BadRequest));
        await (await school.Office.SendJsonAsync(HttpMethod.Put, "/api/v1/waiting-settings", Wanted(90), etag: read.Headers.ETag.Tag)).JsonAsync();
        var stale = await school.Office.SendJsonAsync(HttpMethod.Put, "/api/v1/waiting-settings", Wanted(95), etag: read.Headers.ETag.Tag);
        Assert.Equal(HttpStatusCode.PreconditionFailed, stale.StatusCode);
    }

    [GeneratedRegex(@"/diary/offers/\S+")]
    private static partial Regex Link();
}
