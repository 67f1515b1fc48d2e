using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Slots;
using School.Tests;
using School.Web.Modules.Diary;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.School;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Lessons;

/// <summary>The pages on which a lesson is booked, moved and cancelled, as a browser without scripts meets them.</summary>
public sealed class LessonPagesTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_lesson_is_not_offered_the_time_that_it_has()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var lesson = (await BookAsync(browser, instructor.Id, "2026-03-05T10:00:00Z")).Headers.Location!.OriginalString;
        var times = await (await browser.GetAsync($"{lesson}/move")).TextAsync();
        Assert.DoesNotContain("start=2026-03-05T10:00:00Z", times, StringComparison.Ordinal);
        Assert.Contains("start=2026-03-05T11:00:00Z", times, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Whoever_moves_a_lesson_inside_the_notice_is_told_what_it_costs_before_it_moves()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var own = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var lesson = (await BookAsync(own, instructor.Id, "2026-03-03T10:00:00Z")).Headers.Location!.OriginalString;
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        var check = await (await office.GetAsync($"{lesson}/move/check?start=2026-03-06T10:00:00Z&with={instructor.Id}")).TextAsync();
        Assert.Contains("The school does not charge it.", check, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Best_times_suit_the_pupil_and_can_still_be_given_up_freely()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var instructor = await host.Data.InstructorAsync();
        var pupil = await host.Data.PupilAsync("Tamsin Oakley", TestData.PlaceAt(20), instructor.Id);
        var neighbour = await host.Data.PupilAsync("Idris Bell", TestData.PlaceAt(20));
        using (var office = await host.ApiAsAsync(await host.Data.OfficeAsync()))
        {
            // On these days the instructor is near anyway, so they ask for less driving than the others.
            foreach (var day in new[] { 3, 5, 6 })
            {
                await office.BookedAsync(neighbour.Id, instructor.Id, London(2026, 3, day, 10));
            }

            var path = $"/api/v1/pupils/{pupil.Id}/availability";
            var read = await office.GetAsync(path);
            await (await office.SendJsonAsync(
                HttpMethod.Put, path, new { times = new[] { new { day = "friday", from = "08:00", to = "18:00" } } }, etag: read.Headers.ETag!.Tag)).JsonAsync();
        }

        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var page = await (await browser.GetAsync("/diary/book?from=2026-03-03&minutes=60")).TextAsync();
        var best = page[page.IndexOf("id=\"best\"", StringComparison.Ordinal)..page.IndexOf("All free times", StringComparison.Ordinal)];
        Assert.Contains("Friday 6 March", best, StringComparison.Ordinal);
        Assert.DoesNotContain("Thursday", best, StringComparison.Ordinal);
        Assert.DoesNotContain("Tuesday", best, StringComparison.Ordinal);
        Assert.Contains("Thursday 5 March", page, StringComparison.Ordinal);
    }

    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task Pressing_book_twice_books_once_and_shows_the_same_lesson()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var first = await BookAsync(browser, instructor.Id, "2026-03-05T10:00:00Z");
        // The same form once more: what a second press or a reload of the answer sends.
        var second = await browser.PostFormAsync("/diary/book/check?" + Wish(instructor.Id, "2026-03-06T10:00:00Z"), "/diary/book/check", Fields(instructor.Id, "2026-03-05T10:00:00Z"));

        Assert.Equal(HttpStatusCode.Redirect, first.StatusCode);
        Assert.Equal(first.Headers.Location, second.Headers.Location);
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Lesson>().CountAsync()));
        var lesson = await (await browser.GetAsync(first.Headers.Location)).TextAsync();
        Assert.Contains("Lesson booked: Thursday 5 March, 10:00 to 11:00", lesson);
        Assert.DoesNotContain("Lesson booked", await (await browser.GetAsync(first.Headers.Location)).TextAsync());
        Assert.Equal(first.Headers.Location, (await browser.GetAsync("/diary/book/check?" + Wish(instructor.Id, "2026-03-05T10:00:00Z"))).Headers.Location);
    }

    [Fact]
    public async Task Two_presses_at_the_same_moment_book_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var answers = await Task.WhenAll(Enumerable.Range(0, 4).Select(_ => browser.PostFormAsync(
            "/diary/book/check?" + Wish(instructor.Id, "2026-03-06T10:00:00Z"), "/diary/book/check", Fields(instructor.Id, "2026-03-05T10:00:00Z"))));
        Assert.Single(answers.Select(a => a.Headers.Location?.OriginalString).Distinct(), location => location is not null);
        Assert.Equal(1, await host.WithDbAsync(db => db.Set<Lesson>().CountAsync()));
    }

    [Fact]
    public async Task Without_the_forgery_token_nothing_is_booked()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        using var form = new FormUrlEncodedContent(Fields(instructor.Id, "2026-03-05T10:00:00Z").Select(f => KeyValuePair.Create(f.Name, f.Value)));
        Assert.Equal(HttpStatusCode.BadRequest, (await browser.PostAsync("/diary/book/check", form)).StatusCode);
        Assert.Equal(0, await host.WithDbAsync(db => db.Set<Lesson>().CountAsync()));
    }

    [Fact]
    public async Task A_pupil_sees_and_changes_nobody_elses_lesson()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var own = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var lesson = (await BookAsync(own, instructor.Id, "2026-03-05T10:00:00Z")).Headers.Location!.OriginalString;
        var other = await host.Data.PupilAsync("Idris Bell");
        using var stranger = await host.PagesAsAsync(await host.Data.PersonAsync(other));
        foreach (var address in new[] { lesson, $"{lesson}/move", $"{lesson}/cancel", $"{lesson}/move/check?start=2026-03-06T10:00:00Z" })
        {
            Assert.Equal(HttpStatusCode.NotFound, (await stranger.GetAsync(address)).StatusCode);
        }

        var token = "/diary/book/check?" + Wish(instructor.Id, "2026-03-06T10:00:00Z");
        Assert.Equal(HttpStatusCode.NotFound, (await stranger.PostFormAsync(token, $"{lesson}/cancel", ("charge", "free_in_time"))).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await stranger.PostFormAsync(token, $"{lesson}/move/check", ("start", "2026-03-06T12:00:00Z"))).StatusCode);

        // Naming another pupil in the form books for oneself.
        var booked = await stranger.PostFormAsync(token, "/diary/book/check", [.. Fields(instructor.Id, "2026-03-06T10:00:00Z"), ("pupil", $"{pupil.Id}")]);
        Assert.Equal(HttpStatusCode.Redirect, booked.StatusCode);
        var owners = await host.WithDbAsync(db => db.Set<Lesson>().OrderBy(l => l.StartsAt).Select(l => l.PupilId).ToListAsync());
        Assert.Equal([pupil.Id, other.Id], owners);
        Assert.Equal(LessonState.Booked, await host.WithDbAsync(db => db.Set<Lesson>().Where(l => l.PupilId == pupil.Id).Select(l => l.State).SingleAsync()));
    }

    [Fact]
    public async Task A_time_that_went_meanwhile_is_told_with_three_others_and_the_wish_is_kept()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        var first = await host.Data.PupilAsync("Idris Bell");
        using var faster = await host.PagesAsAsync(await host.Data.PersonAsync(first));
        await BookAsync(faster, instructor.Id, "2026-03-05T10:00:00Z", 90);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var answer = await browser.PostFormAsync(
            "/diary/book/check?" + Wish(instructor.Id, "2026-03-06T10:00:00Z", 90), "/diary/book/check", Fields(instructor.Id, "2026-03-05T10:00:00Z", 90));
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        var text = await answer.TextAsync();
        Assert.Contains("<title>Error: Choose another time", text);
        Assert.Contains("already has something at that time", text);
        Assert.Contains("You asked for <b>Thursday 5 March, 10:00 to 11:30</b>", text);
        Assert.Equal(3, text.Split("<button><b>Book ").Length - 1);
        Assert.Equal(3, text.Split("name=\"minutes\" value=\"90\"").Length - 1);
    }

    [Fact]
    public async Task A_lesson_may_not_be_moved_by_its_pupil_inside_the_notice_and_the_page_says_whom_to_call()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var lesson = (await BookAsync(browser, instructor.Id, "2026-03-05T10:00:00Z")).Headers.Location!.OriginalString;
        Assert.Contains("Move lesson", await (await browser.GetAsync(lesson)).TextAsync());
        host.Clock.AdvanceHours(30);
        Assert.DoesNotContain(">Move lesson<", await (await browser.GetAsync(lesson)).TextAsync());
        var page = await (await browser.GetAsync($"{lesson}/move")).TextAsync();
        Assert.Contains("The time to move this lesson ended on Tuesday 3 March, 10:00, 48 hours before it starts", page);
        Assert.Contains("href=\"tel:+441632960100\"", page);
        var check = await browser.GetAsync($"{lesson}/move/check?start=2026-03-06T10:00:00Z");
        Assert.Equal($"{lesson}/move", check.Headers.Location?.OriginalString);
        var posted = await browser.PostFormAsync($"{lesson}/cancel", $"{lesson}/move/check", ("start", "2026-03-06T12:00:00Z"));
        Assert.Contains("at least 48 hours ahead", await posted.TextAsync());
        Assert.Equal(Thursday10, await host.WithDbAsync(db => db.Set<Lesson>().Select(l => l.StartsAt).SingleAsync()));
    }

    [Fact]
    public async Task Moving_twice_moves_once()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var lesson = (await BookAsync(browser, instructor.Id, "2026-03-05T10:00:00Z")).Headers.Location!.OriginalString;
        var check = $"{lesson}/move/check?start=2026-03-06T12:00:00Z";
        for (var press = 0; press < 2; press++)
        {
            var answer = await browser.PostFormAsync($"{lesson}/cancel", $"{lesson}/move/check", ("start", "2026-03-06T12:00:00Z"), ("seen", "1"));
            Assert.Equal(lesson, answer.Headers.Location?.OriginalString);
        }

        Assert.Equal(lesson, (await browser.GetAsync(check)).Headers.Location?.OriginalString);
        Assert.Equal([ChangeKind.Booked, ChangeKind.Moved], await host.WithDbAsync(db => db.Set<LessonChange>().OrderBy(c => c.Id).Select(c => c.Kind).ToListAsync()));
    }

    [Fact]
    public async Task Before_anything_is_cancelled_the_page_speaks_of_what_would_happen()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var lesson = (await BookAsync(browser, instructor.Id, "2026-03-05T10:00:00Z")).Headers.Location!.OriginalString;
        host.Clock.AdvanceHours(30);
        using var office = await host.PagesAsAsync(await host.Data.OfficeAsync());
        const string Ahead = "If you cancel now, that is 44 hours before the lesson; it is free until 48 hours before.";
        Assert.Contains(Ahead, await (await browser.GetAsync($"{lesson}/cancel")).TextAsync());
        Assert.Contains(Ahead, await (await office.GetAsync($"{lesson}/cancel?reason=Pupil")).TextAsync());
        foreach (var (reason, words) in new[] { ("Weather", "It is called off for the weather, so it is not charged."), ("Other", "The school calls it off, so it is not charged.") })
        {
            var page = await (await office.GetAsync($"{lesson}/cancel?reason={reason}")).TextAsync();
            Assert.Contains(words, page);
            Assert.DoesNotContain("Cancelled", page);
        }
    }

    [Fact]
    public async Task Nobody_is_charged_by_a_button_that_said_free()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var lesson = (await BookAsync(browser, instructor.Id, "2026-03-05T10:00:00Z")).Headers.Location!.OriginalString;
        Assert.Contains("Cancel lesson, free of charge", await (await browser.GetAsync($"{lesson}/cancel")).TextAsync());
        host.Clock.AdvanceHours(30);
        var refused = await browser.PostFormAsync($"{lesson}/cancel", ("charge", "free_in_time"));
        var text = await refused.TextAsync();
        Assert.Contains("Whether this is charged has changed", text);
        Assert.Contains("Cancel lesson, charge applies", text);
        Assert.Equal(LessonState.Booked, await StateAsync(host));

        var cancelled = await browser.PostFormAsync($"{lesson}/cancel", ("charge", "late"));
        Assert.Equal(lesson, cancelled.Headers.Location?.OriginalString);
        Assert.Equal(LessonState.Cancelled, await StateAsync(host));
        var page = await (await browser.GetAsync(lesson)).TextAsync();
        Assert.Contains("Cancelled, charged", page);
        Assert.Contains("Cancelled 44 hours before; free until 48 hours before.", page);
    }

    [Fact]
    public async Task When_nothing_is_free_the_page_says_what_is_in_the_way_and_what_would_help()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        var other = await host.Data.InstructorAsync("Corin Hale");
        await host.AddAsync(new TimeOffRow
        {
            InstructorId = instructor.Id,
            StartsAt = London(2026, 3, 2, 0),
            EndsAt = London(2026, 3, 16, 0),
            Reason = "holiday",
        });
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var text = await (await browser.GetAsync("/diary/book")).TextAsync();
        Assert.Contains("No free times Tuesday 3 to Monday 9 March", text);
        Assert.Contains("The instructor is off at these times.", text);
        Assert.Contains("<b>Any instructor</b> <span>from Tuesday 3 March, 08:00</span>", text);
        Assert.Contains("<b>Later</b> <span>from Monday 16 March, 08:00</span>", text);
        Assert.DoesNotContain("<b>1½ hours</b>", text);

        var anyone = await (await browser.GetAsync("/diary/book?with=anyone")).TextAsync();
        Assert.Contains($"with={other.Id}", anyone);
        Assert.DoesNotContain($"with={instructor.Id}", anyone);
    }

    [Fact]
    public async Task Staff_book_for_a_pupil_at_a_time_of_their_own_off_the_grid()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var browser = await host.PagesAsAsync(await host.Data.OfficeAsync());
        Assert.Contains("Tamsin Oakley", await (await browser.GetAsync("/diary/book")).TextAsync());
        var form = $"/diary/book?pupil={pupil.Id}&minutes=50&with={instructor.Id}";
        var wrong = await (await browser.GetAsync($"{form}&day=2026-03-29&time=01%3A30")).TextAsync();
        Assert.Contains("the clocks go forward", wrong);
        Assert.Contains("value=\"2026-03-29\"", wrong);
        Assert.Contains("Enter the time", await (await browser.GetAsync($"{form}&day=2026-03-29&time=")).TextAsync());
        var check = await browser.GetAsync($"{form}&day=2026-03-05&time=10%3A05");
        Assert.Equal($"/diary/book/check?pupil={pupil.Id}&start=2026-03-05T10:05:00Z&minutes=50&with={instructor.Id}", check.Headers.Location?.OriginalString);
        var booked = await browser.PostFormAsync(
            check.Headers.Location!.OriginalString, "/diary/book/check", [("pupil", $"{pupil.Id}"), .. Fields(instructor.Id, "2026-03-05T10:05:00Z", 50)]);
        var page = await (await browser.GetAsync(booked.Headers.Location)).TextAsync();
        Assert.Contains("History", page);
        Assert.Contains("Booked for Thu 5 Mar 10:05, 50 minutes.", page);
    }

    [Fact]
    public async Task Staff_say_why_they_cancel_and_see_first_what_it_means()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var (instructor, pupil) = await PairAsync(host);
        using var own = await host.PagesAsAsync(await host.Data.PersonAsync(pupil));
        var lesson = (await BookAsync(own, instructor.Id, "2026-03-03T10:00:00Z")).Headers.Location!.OriginalString;
        using var browser = await host.PagesAsAsync(await host.Data.PersonAsync(instructor));
        Assert.Contains("type=\"radio\"", await (await browser.GetAsync($"{lesson}/cancel")).TextAsync());
        Assert.Contains("Choose a reason", await (await browser.GetAsync($"{lesson}/cancel?reason=")).TextAsync());
        Assert.Contains("Cancel lesson, charge applies", await (await browser.GetAsync($"{lesson}/cancel?reason=pupil")).TextAsync());
        Assert.Contains("The instructor is ill, so it is not charged.", await (await browser.GetAsync($"{lesson}/cancel?reason=instructorill")).TextAsync());
        var answer = await browser.PostFormAsync($"{lesson}/cancel?reason=instructorill", $"{lesson}/cancel", ("reason", "InstructorIll"), ("charge", "free_instructor_ill"));
        Assert.Equal(lesson, answer.Headers.Location?.OriginalString);
        var stored = await host.WithDbAsync(db => db.Set<Lesson>().SingleAsync());
        Assert.Equal((LessonState.Cancelled, CancelReason.InstructorIll, false), (stored.State, stored.CancelledBecause, stored.Chargeable));
    }

    [Fact]
    public void Nothing_that_a_rule_says_to_a_pupil_speaks_of_the_pupil()
    {
        foreach (var rule in Enum.GetValues<SlotRule>())
        {
            Assert.DoesNotContain("pupil", ObstacleWords.Of(rule).ToPupil, StringComparison.OrdinalIgnoreCase);
        }
    }

    private static async Task<(Instructor Instructor, Pupil Pupil)> PairAsync(SchoolHost host)
    {
        await host.WithDbAsync(db => db.Set<SchoolProfile>().ExecuteUpdateAsync(s => s.SetProperty(p => p.Phone, "+441632960100")));
        var instructor = await host.Data.InstructorAsync();
        return (instructor, await host.Data.PupilAsync(instructor: instructor.Id));
    }

    private static Task<HttpResponseMessage> BookAsync(HttpClient browser, Guid instructor, string start, int minutes = 60) =>
        browser.PostFormAsync("/diary/book/check?" + Wish(instructor, start, minutes), "/diary/book/check", Fields(instructor, start, minutes));

    private static string Wish(Guid instructor, string start, int minutes = 60) => $"start={start}&minutes={minutes}&with={instructor}";

    private static (string Name, string Value)[] Fields(Guid instructor, string start, int minutes = 60) =>
        [("start", start), ("minutes", $"{minutes}"), ("with", $"{instructor}")];

    private static Task<LessonState> StateAsync(SchoolHost host) => host.WithDbAsync(db => db.Set<Lesson>().Select(l => l.State).SingleAsync());
}
