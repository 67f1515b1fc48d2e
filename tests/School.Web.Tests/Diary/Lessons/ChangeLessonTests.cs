using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.School;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Lessons;

public sealed class ChangeLessonTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);
    private static readonly Instant Friday14 = London(2026, 3, 6, 14);

    [Fact]
    public async Task Moving_keeps_length_and_places_raises_the_sequence_and_replaces_the_reminder()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 6, 10), 90)).Id();
        var moved = await (await school.Pupil.MoveAsync(id, Friday14)).JsonAsync();
        Assert.Equal(Friday14, moved.Moment("start"));
        Assert.Equal(90, moved.GetProperty("minutes").GetInt32());
        Assert.Equal(1, moved.GetProperty("sequence").GetInt32());

        var reminders = await school.MessagesAsync(id, "lesson_reminder");
        Assert.Equal([MessageState.Withdrawn, MessageState.Waiting], reminders.Select(m => m.State));
        Assert.Equal([London(2026, 3, 3, 10), London(2026, 3, 3, 14)], reminders.Select(m => m.DueAt));
        // 48 hours before the lesson it can no longer be moved free of charge.
        Assert.Equal(London(2026, 3, 4, 14), reminders[1].UselessAt);
        Assert.Equal($"lesson_reminder:{id}:1:pupil", reminders[1].Key);
        Assert.Contains("Friday 6 March, 14:00 to 15:30", reminders[1].Text);

        var told = await school.MessagesAsync(id, "lesson_moved");
        Assert.Equal(2, told.Count);
        Assert.All(told, m => Assert.Contains("Friday 6 March, 10:00 to 11:30", m.Text));
    }

    [Fact]
    public async Task Booking_moving_and_cancelling_write_to_the_pupil_always_and_to_the_instructor_when_somebody_else_did_it()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Instructor.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 6, 10))).Id();
        await (await school.Office.MoveAsync(id, Friday14)).JsonAsync();
        await (await school.Instructor.CancelAsync(id, "instructorIll")).JsonAsync();
        var messages = await school.MessagesAsync(id);
        Assert.Equal(
            [
                $"lesson_booked:{id}:0:pupil", $"lesson_cancelled:{id}:2:pupil", $"lesson_moved:{id}:1:instructor", $"lesson_moved:{id}:1:pupil",
                $"lesson_reminder:{id}:0:pupil", $"lesson_reminder:{id}:1:pupil",
            ],
            messages.Select(m => m.Key).Order(StringComparer.Ordinal));
        Assert.All(messages.Where(m => m.Kind == "lesson_reminder"), m => Assert.Equal(MessageState.Withdrawn, m.State));
    }

    [Fact]
    public async Task Moving_a_lesson_to_the_time_that_it_has_changes_nothing_and_tells_nobody()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        await (await school.Pupil.MoveAsync(id, Friday14)).JsonAsync();
        var before = (await school.MessagesAsync(id)).Count;
        var again = await school.Pupil.MoveAsync(id, Friday14);
        Assert.Equal(1, (await again.JsonAsync()).GetProperty("sequence").GetInt32());
        Assert.Equal("\"2\"", again.Headers.ETag?.Tag);
        Assert.Equal(before, (await school.MessagesAsync(id)).Count);
        Assert.Equal(2, (await school.Office.GetJsonAsync($"/api/v1/lessons/{id}/history")).GetProperty("items").GetArrayLength());
    }

    [Fact]
    public async Task A_refused_change_writes_no_message_and_no_history()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var before = (await school.MessagesAsync(id)).Count;
        Assert.Equal("outside_working_hours", await (await school.Pupil.MoveAsync(id, London(2026, 3, 6, 20))).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal(before, (await school.MessagesAsync(id)).Count);
        Assert.Single((await school.Office.GetJsonAsync($"/api/v1/lessons/{id}/history")).GetProperty("items").EnumerateArray());
    }

    [Fact]
    public async Task A_lesson_booked_just_before_gets_no_reminder()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        school.Host.Clock.Reset(London(2026, 3, 4, 14, 30));
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        Assert.Empty(await school.MessagesAsync(id, "lesson_reminder"));
        Assert.Equal(2, (await school.MessagesAsync(id, "lesson_booked")).Count);
    }

    [Fact]
    public async Task Letters_are_plain_words_encoded_in_html_and_follow_the_schools_clock()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.Name, "Tam <b>Oak</b> & Co")));
        await school.Host.WithDbAsync(db => db.Set<SchoolProfile>().ExecuteUpdateAsync(
            set => set.SetProperty(s => s.TwelveHourClock, true).SetProperty(s => s.Phone, "01632 960000")));
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var letter = (await school.MessagesAsync(id, "lesson_booked")).Single(m => m.Key.EndsWith(":pupil", StringComparison.Ordinal));
        Assert.Equal("Lesson booked: Thursday 5 March, 10:00 am to 11:00 am", letter.Subject);
        Assert.Contains("Hello Tam <b>Oak</b> & Co,", letter.Text);
        Assert.Contains("Hello Tam &lt;b&gt;Oak&lt;/b&gt; &amp; Co,", letter.Html);
        Assert.Contains("Pick-up: Mill Lane, 12 Mill Lane, Larkfield", letter.Text);
        Assert.Contains("free of charge until Tuesday 3 March, 10:00 am", letter.Text);
        Assert.Contains("01632 960000", letter.Text);
    }

    [Fact]
    public async Task Inside_the_notice_a_pupil_cannot_move_but_the_office_can()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(Thursday10 - Duration.FromHours(47));
        Assert.Equal("inside_move_notice", await (await school.Pupil.MoveAsync(id, Friday14)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await (await school.Office.MoveAsync(id, Friday14)).JsonAsync();
    }

    [Theory]
    [InlineData(48, false, "Cancelled 48 hours before; free until 48 hours before.")]
    [InlineData(20, true, "Cancelled 20 hours before; free until 48 hours before.")]
    public async Task A_pupils_cancellation_is_charged_inside_the_notice_and_the_policy_is_kept_in_words(int hoursBefore, bool chargeable, string policy)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(Thursday10 - Duration.FromHours(hoursBefore));
        var cancelled = await (await school.Pupil.CancelAsync(id)).JsonAsync();
        Assert.Equal("cancelled", cancelled.Word("state"));
        Assert.Equal("pupil", cancelled.Word("cancelledBecause"));
        Assert.Equal(chargeable, cancelled.GetProperty("chargeable").GetBoolean());
        Assert.Equal(policy, cancelled.Word("chargePolicy"));
        Assert.Contains(policy, (await school.MessagesAsync(id, "lesson_cancelled")).Single(m => m.Key.EndsWith(":pupil", StringComparison.Ordinal)).Text);
    }

    [Theory]
    [InlineData("instructorIll")]
    [InlineData("weather")]
    [InlineData("car")]
    [InlineData("other")]
    public async Task What_the_school_cancels_is_never_charged(string reason)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(Thursday10 - Duration.FromHours(1));
        Assert.False((await (await school.Office.CancelAsync(id, reason)).JsonAsync()).GetProperty("chargeable").GetBoolean());
    }

    [Fact]
    public async Task A_pupil_cannot_give_the_schools_reasons_and_so_avoid_the_charge()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(Thursday10 - Duration.FromHours(1));
        await (await school.Pupil.CancelAsync(id, "weather")).JsonAsync(HttpStatusCode.BadRequest);
        Assert.True((await (await school.Pupil.CancelAsync(id, "other")).JsonAsync()).GetProperty("chargeable").GetBoolean());
    }

    [Fact]
    public async Task Once_begun_a_lesson_is_no_longer_the_pupils_to_move_or_cancel()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(Thursday10);
        Assert.Equal("lesson_begun", await (await school.Pupil.MoveAsync(id, Friday14)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal("lesson_begun", await (await school.Pupil.CancelAsync(id)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        await (await school.Office.CancelAsync(id, "car")).JsonAsync();
        Assert.Equal("lesson_closed", await (await school.Office.CancelAsync(id, "car")).CodeAsync(HttpStatusCode.Conflict));
    }

    [Fact]
    public async Task Somebody_elses_lesson_is_404_to_read_and_to_change()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var (otherPupil, otherInstructor) = (await school.Host.Data.PupilAsync("Corin Vale"), await school.Host.Data.InstructorAsync("Basil Thornby"));
        foreach (var person in new[] { await school.Host.Data.PersonAsync(otherPupil), await school.Host.Data.PersonAsync(otherInstructor) })
        {
            using var api = await school.Host.ApiAsAsync(person);
            Assert.Equal(HttpStatusCode.NotFound, (await api.GetAsync($"/api/v1/lessons/{id}")).StatusCode);
            Assert.Equal(HttpStatusCode.NotFound, (await api.GetAsync($"/api/v1/lessons/{id}/history")).StatusCode);
            Assert.Equal(HttpStatusCode.NotFound, (await api.MoveAsync(id, Friday14)).StatusCode);
            Assert.Equal(HttpStatusCode.NotFound, (await api.CancelAsync(id)).StatusCode);
            Assert.Empty((await api.GetJsonAsync("/api/v1/lessons?from=2026-03-01&to=2026-03-31")).GetProperty("items").EnumerateArray());
        }

        using var foreign = await school.Host.ApiAsAsync((await school.Host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.InstructorId == otherInstructor.Id))));
        school.Host.Clock.Reset(Thursday10 + Duration.FromHours(1));
        Assert.Equal(HttpStatusCode.NotFound, (await foreign.RecordAsync(id, 60, "")).StatusCode);
        Assert.Equal(HttpStatusCode.Forbidden, (await school.Pupil.RecordAsync(id, 60, "")).StatusCode);
    }

    [Fact]
    public async Task A_record_wants_the_version_it_was_made_from_and_may_be_put_right()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        Assert.Equal("lesson_not_begun", await (await school.Instructor.RecordAsync(id, 60, "")).CodeAsync(HttpStatusCode.UnprocessableEntity));
        school.Host.Clock.Reset(Thursday10 + Duration.FromHours(1));

        Assert.Equal("if_match_missing", await (await school.Instructor.RecordAsync(id, 60, "", etag: null)).CodeAsync(HttpStatusCode.PreconditionRequired));
        Assert.Equal("stale", await (await school.Instructor.RecordAsync(id, 60, "", etag: "\"7\"")).CodeAsync(HttpStatusCode.PreconditionFailed));
        Assert.Equal(HttpStatusCode.PreconditionFailed, (await school.Instructor.RecordAsync(id, 60, "", etag: "what")).StatusCode);
        var tooMany = await (await school.Instructor.RecordAsync(id, 61, "")).JsonAsync(HttpStatusCode.BadRequest);
        Assert.True(tooMany.GetProperty("errors").TryGetProperty("minutesTaught", out _));

        var etag = (await school.Instructor.GetAsync($"/api/v1/lessons/{id}")).Headers.ETag!.Tag;
        var answer = await school.Instructor.RecordAsync(id, 55, "Mirrors before signals \U0001F44D", etag);
        Assert.Equal("taught", (await answer.JsonAsync()).Word("state"));
        Assert.NotEqual(etag, answer.Headers.ETag!.Tag);
        await (await school.Office.RecordAsync(id, 60, "The whole hour")).JsonAsync();
        var lesson = await school.Pupil.GetJsonAsync($"/api/v1/lessons/{id}");
        Assert.Equal(60, lesson.GetProperty("minutesTaught").GetInt32());
        Assert.Equal("The whole hour", lesson.Word("note"));
        Assert.Equal(0, lesson.GetProperty("sequence").GetInt32());

        var history = (await school.Pupil.GetJsonAsync($"/api/v1/lessons/{id}/history")).GetProperty("items").EnumerateArray().ToList();
        Assert.Equal(["booked", "recorded", "recorded"], history.Select(h => h.Word("kind")));
        Assert.Equal("Taught, 60 minutes. Before: 55 minutes. Mirrors before signals \U0001F44D", history[2].Word("words"));
    }

    [Fact]
    public async Task A_missed_lesson_is_chargeable_until_a_record_puts_it_right()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(Thursday10 + Duration.FromMinutes(20));
        var missed = await (await school.Instructor.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{id}/missed", new { note = "Nobody at the door" })).JsonAsync();
        Assert.Equal("missed", missed.Word("state"));
        Assert.True(missed.GetProperty("chargeable").GetBoolean());
        Assert.Equal(HttpStatusCode.BadRequest, (await school.Instructor.RecordAsync(id, 40, "Came late")).StatusCode);
        school.Host.Clock.Reset(Thursday10 + Duration.FromMinutes(61));
        var taught = await (await school.Instructor.RecordAsync(id, 40, "Came late")).JsonAsync();
        Assert.Equal("taught", taught.Word("state"));
        Assert.Equal(System.Text.Json.JsonValueKind.Null, taught.GetProperty("chargeable").ValueKind);
    }

    [Fact]
    public async Task Missed_has_its_own_refusals_and_may_be_waived()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var missed = $"/api/v1/lessons/{id}/missed";
        Assert.Equal("lesson_not_begun", await (await school.Instructor.SendJsonAsync(HttpMethod.Post, missed, new { })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        school.Host.Clock.Reset(Thursday10 + Duration.FromMinutes(9));
        Assert.Equal("too_soon_to_miss", await (await school.Instructor.SendJsonAsync(HttpMethod.Post, missed, new { })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        school.Host.Clock.Reset(Thursday10 + Duration.FromMinutes(10));
        Assert.Equal("stale", await (await school.Instructor.SendJsonAsync(HttpMethod.Post, missed, new { }, etag: "\"7\"")).CodeAsync(HttpStatusCode.PreconditionFailed));
        var early = await (await school.Instructor.RecordAsync(id, 11, "")).JsonAsync(HttpStatusCode.BadRequest);
        Assert.StartsWith("Only 10 minutes of this lesson have passed.", early.GetProperty("errors").GetProperty("minutesTaught")[0].GetString(), StringComparison.Ordinal);
        var waived = await (await school.Instructor.SendJsonAsync(HttpMethod.Post, missed, new { waive = true }, etag: "\"1\"")).JsonAsync();
        Assert.False(waived.GetProperty("chargeable").GetBoolean());
        Assert.Equal("The pupil was not there; the school waived the charge.", waived.Word("chargePolicy"));
    }

    [Fact]
    public async Task If_match_is_honoured_on_moving_and_cancelling_when_it_is_sent()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        Assert.Equal("stale", await (await school.Pupil.MoveAsync(id, Friday14, etag: "\"2\"")).CodeAsync(HttpStatusCode.PreconditionFailed));
        var moved = await school.Pupil.MoveAsync(id, Friday14, etag: "\"1\"");
        Assert.Equal("stale", await (await school.Pupil.CancelAsync(id, etag: "\"1\"")).CodeAsync(HttpStatusCode.PreconditionFailed));
        await (await school.Pupil.CancelAsync(id, etag: moved.Headers.ETag!.Tag)).JsonAsync();
    }

    [Fact]
    public async Task The_history_tells_who_changed_what_and_a_handed_over_lesson_tells_the_former_instructor()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Basil Thornby");
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var moved = await (await school.Office.MoveAsync(id, Friday14, other.Id)).JsonAsync();
        Assert.Equal(other.Id, moved.Id("instructorId"));
        await (await school.Office.CancelAsync(id, "weather")).JsonAsync();

        var history = (await school.Office.GetJsonAsync($"/api/v1/lessons/{id}/history")).GetProperty("items").EnumerateArray().ToList();
        Assert.Equal(
            [
                "Booked for Thu 5 Mar 10:00, 60 minutes.",
                "Moved from Thu 5 Mar 10:00 to Fri 6 Mar 14:00, now with Basil Thornby.",
                "Cancelled: the weather. Not charged: Cancelled for the weather, so it is not charged.",
            ],
            history.Select(h => h.Word("words")));
        Assert.Equal(["Tamsin Oakley", "Rosalind Pike", "Rosalind Pike"], history.Select(h => h.Word("by")));

        var messages = (await school.MessagesAsync(id, "lesson_moved")).ToDictionary(m => m.Key.Split(':')[^1], m => (m.ToName, m.Subject));
        Assert.Equal(("Basil Thornby", "New lesson: Tamsin Oakley, Friday 6 March, 14:00 to 15:00"), messages["instructor"]);
        Assert.Equal(("Marigold Ashby", "Lesson handed over: Tamsin Oakley, Thursday 5 March, 10:00 to 11:00"), messages["former_instructor"]);
        Assert.Equal("Tamsin Oakley", messages["pupil"].ToName);
    }

    [Fact]
    public async Task A_moved_lesson_may_overlap_its_own_old_time()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        await (await school.Pupil.MoveAsync(id, Thursday10 + Duration.FromMinutes(15))).JsonAsync();
    }
}
