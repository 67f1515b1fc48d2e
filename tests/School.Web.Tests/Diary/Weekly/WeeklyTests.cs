using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Tests;
using School.Web.Modules.Diary;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Weekly;

public sealed class WeeklyTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);
    private static readonly Instant[] FourThursdays = [Thursday10, London(2026, 3, 12, 10), London(2026, 3, 19, 10), London(2026, 3, 26, 10)];

    [Fact]
    public async Task The_preview_says_of_each_date_whether_it_fits_and_what_is_nearest_when_not()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.PupilAsync("Corin Vale");
        await school.Office.BookedAsync(other.Id, school.InstructorId, FourThursdays[1]);
        var dates = await PreviewAsync(school, school.Office, weeks: 5);

        Assert.Equal([true, false, true, true, true], dates.Select(d => d.GetProperty("fits").GetBoolean()));
        Assert.Equal("instructor_busy", dates[1].Word("code"));
        var nearest = dates[1].GetProperty("nearest").Moment("start");
        Assert.InRange((nearest - FourThursdays[1]).TotalMinutes, -180, 180);
        // The clocks go forward on 29 March 2026: the fifth stands at the same local time, an hour earlier by the sun.
        Assert.Equal(London(2026, 4, 2, 10), dates[4].Moment("start"));
        Assert.Equal(1, await CountAsync(school));
    }

    [Fact]
    public async Task Public_holidays_are_named_and_left_out_by_choice()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        // Good Friday 2026 is 3 April; source: GOV.UK bank holidays, England and Wales.
        var friday = London(2026, 3, 27, 10);
        var kept = await PreviewAsync(school, school.Office, friday, 2);
        Assert.Equal("Good Friday", kept[1].Word("holiday"));
        Assert.True(kept[1].GetProperty("fits").GetBoolean());
        var skipped = await PreviewAsync(school, school.Office, friday, 2, skipHolidays: true);
        Assert.Equal("holiday", skipped[1].Word("code"));
        Assert.False(skipped[1].GetProperty("fits").GetBoolean());
    }

    [Fact]
    public async Task A_date_whose_time_the_clocks_skip_is_told_and_the_others_fit()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.AddAsync(new WorkingHoursRow
        {
            InstructorId = school.InstructorId,
            Day = IsoDayOfWeek.Sunday,
            Start = new(0, 30),
            End = new(5, 0),
            From = new(2026, 1, 1),
        });
        var dates = await PreviewAsync(school, school.Office, London(2026, 3, 22, 1, 30), 3);
        Assert.Equal([true, false, true], dates.Select(d => d.GetProperty("fits").GetBoolean()));
        Assert.Equal("clock_skips", dates[1].Word("code"));
    }

    [Fact]
    public async Task What_is_chosen_is_booked_together_as_lessons_of_their_own_with_one_letter()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var answer = await BookAsync(school, school.Pupil, FourThursdays);
        var weekly = await answer.JsonAsync(HttpStatusCode.Created);
        var lessons = weekly.GetProperty("items").EnumerateArray().ToList();

        Assert.Equal(FourThursdays, lessons.Select(l => l.Moment("start")));
        Assert.All(lessons, l => Assert.Equal(weekly.Id(), l.Id("seriesId")));
        Assert.Equal(weekly.ToString(), (await school.Pupil.GetJsonAsync(answer.Headers.Location!.ToString())).ToString());
        var messages = await school.Host.SaidAsync(all => all);
        var letter = Assert.Single(messages, m => m.Kind == "weekly_booked" && m.Key.EndsWith(":pupil", StringComparison.Ordinal));
        Assert.Contains("Thursday 26 March, 10:00", letter.Text);
        // Of the first the free limit is too near: what was booked an hour ago needs no reminder.
        Assert.Equal(3, messages.Count(m => m.Kind == "lesson_reminder"));
        Assert.DoesNotContain(messages, m => m.Kind == "lesson_booked");
    }

    [Fact]
    public async Task When_one_date_is_gone_none_is_booked_and_no_letter_written()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.PupilAsync("Corin Vale");
        await school.Office.BookedAsync(other.Id, school.InstructorId, FourThursdays[2]);
        var problem = await (await BookAsync(school, school.Pupil, FourThursdays)).JsonAsync(HttpStatusCode.Conflict);
        Assert.Equal("instructor_busy", problem.Word("code"));
        Assert.StartsWith("Nothing was booked. Thursday 19 March, 10:00:", problem.Word("detail"), StringComparison.Ordinal);
        Assert.Equal(1, await CountAsync(school));
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<Message>().CountAsync(m => m.Kind.StartsWith("weekly"))));
    }

    [Fact]
    public async Task Two_dates_in_one_week_keep_to_the_pupils_weekly_limit()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<School.Web.Modules.Pupils.Pupil>().Where(p => p.Id == school.PupilId)
            .ExecuteUpdateAsync(set => set.SetProperty(p => p.WeeklyMinutes, 60)));
        var answer = await BookAsync(school, school.Office, [Thursday10, London(2026, 3, 6, 10)]);
        Assert.Equal("weekly_limit", await answer.CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal(0, await CountAsync(school));
    }

    [Fact]
    public async Task All_that_follow_move_together_and_those_before_stay()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lessons = await BookedAsync(school);
        var second = lessons[1].Id();
        var to = London(2026, 3, 13, 14);
        var preview = (await (await MoveAsync(school.Pupil, second, to, "move/preview")).JsonAsync()).GetProperty("items").EnumerateArray().ToList();
        Assert.Equal([true, true, true], preview.Select(p => p.GetProperty("fits").GetBoolean()));
        Assert.Equal(FourThursdays, await StartsAsync(school));

        await (await MoveAsync(school.Pupil, second, to)).JsonAsync();
        Assert.Equal([Thursday10, to, London(2026, 3, 20, 14), London(2026, 3, 27, 14)], await StartsAsync(school));
        Assert.Equal(1, await school.Host.WithDbAsync(db => db.Set<Message>().CountAsync(m => m.Kind == "weekly_moved" && m.Key.EndsWith(":pupil"))));
    }

    [Fact]
    public async Task A_week_later_each_steps_into_the_place_that_the_next_one_leaves()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lessons = await BookedAsync(school);
        await (await MoveAsync(school.Office, lessons[0].Id(), FourThursdays[1])).JsonAsync();
        Assert.Equal([.. FourThursdays[1..], London(2026, 4, 2, 10)], await StartsAsync(school));
        await (await MoveAsync(school.Office, lessons[0].Id(), Thursday10)).JsonAsync();
        Assert.Equal(FourThursdays, await StartsAsync(school));
    }

    [Fact]
    public async Task When_one_cannot_move_none_does_unless_it_is_left_out()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lessons = await BookedAsync(school);
        var other = await school.Host.Data.PupilAsync("Corin Vale");
        await school.Office.BookedAsync(other.Id, school.InstructorId, London(2026, 3, 19, 14));
        var to = London(2026, 3, 5, 14);
        var problem = await (await MoveAsync(school.Office, lessons[0].Id(), to)).JsonAsync(HttpStatusCode.Conflict);
        Assert.StartsWith("Nothing was moved. The lesson of Thursday 19 March, 10:00:", problem.Word("detail"), StringComparison.Ordinal);
        Assert.Equal(FourThursdays, await StartsAsync(school));

        var chosen = lessons.Where((_, i) => i != 2).Select(l => l.Id()).ToArray();
        await (await MoveAsync(school.Office, lessons[0].Id(), to, only: chosen)).JsonAsync();
        Assert.Equal([to, London(2026, 3, 12, 14), FourThursdays[2], London(2026, 3, 26, 14)], await StartsAsync(school));
    }

    [Fact]
    public async Task All_that_follow_are_cancelled_together_and_each_is_charged_or_not_by_itself()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lessons = await BookedAsync(school);
        school.Host.Clock.Reset(Thursday10 - Duration.FromHours(3));
        var wrong = await school.Pupil.SendJsonAsync(HttpMethod.Post, Following(lessons[0].Id(), "cancel"), new { reason = "pupil", charged = 0 });
        Assert.Equal("charge_changed", await wrong.CodeAsync(HttpStatusCode.UnprocessableEntity));
        var done = await (await school.Pupil.SendJsonAsync(HttpMethod.Post, Following(lessons[0].Id(), "cancel"), new { reason = "pupil", charged = 1 })).JsonAsync();
        Assert.Equal([true, false, false, false], done.GetProperty("items").EnumerateArray().Select(l => l.GetProperty("chargeable").GetBoolean()));
        var waiting = await school.Host.WithDbAsync(db => db.Set<Message>().CountAsync(m => m.Kind == "lesson_reminder" && m.State == MessageState.Waiting));
        Assert.Equal(0, waiting);
    }

    [Fact]
    public async Task A_single_lesson_and_somebody_elses_are_refused()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var single = await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10);
        Assert.Equal("not_weekly", await (await MoveAsync(school.Office, single.Id(), FourThursdays[1])).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var weekly = await (await BookAsync(school, school.Office, FourThursdays[1..])).JsonAsync(HttpStatusCode.Created);
        using var stranger = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.PupilAsync("Idris Bell")));
        var lesson = weekly.GetProperty("items")[0].Id();
        Assert.Equal("not_found", await (await MoveAsync(stranger, lesson, Thursday10)).CodeAsync(HttpStatusCode.NotFound));
        Assert.Equal("not_found", await (await stranger.SendJsonAsync(HttpMethod.Post, Following(lesson, "cancel"), new { reason = "pupil" })).CodeAsync(HttpStatusCode.NotFound));
        Assert.Equal(HttpStatusCode.NotFound, (await stranger.GetAsync($"/api/v1/weekly-lessons/{weekly.Id()}")).StatusCode);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(27)]
    [InlineData(1_000_000)]
    public async Task The_number_of_weeks_has_bounds(int weeks)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var problem = await (await AskAsync(school, school.Office, Thursday10, weeks, false)).JsonAsync(HttpStatusCode.BadRequest);
        Assert.Contains("2 to 26", problem.GetProperty("errors").GetProperty("weeks")[0].GetString());
    }

    [Fact]
    public async Task The_pages_show_each_date_book_the_ticked_ones_and_move_and_cancel_them_all()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var office = await school.Host.Data.OfficeAsync();
        using var browser = await school.Host.PagesAsAsync(office);
        var address = $"/diary/weekly?pupil={school.PupilId}&with={school.InstructorId}&first=2026-03-05&time=10:00&weeks=4&minutes=60";
        var shown = await (await browser.GetAsync(address)).TextAsync();
        Assert.Contains("All of them fit.", shown);
        Assert.Contains("Thursday 26 March", shown);
        (string, string)[] fields =
        [
            ("pupil", $"{school.PupilId}"), ("with", $"{school.InstructorId}"), ("first", "2026-03-05"), ("time", "10:00"), ("weeks", "4"), ("minutes", "60"),
        ];
        var none = await (await browser.PostFormAsync(address, "/diary/weekly", fields)).TextAsync();
        Assert.Contains("Choose at least one date.", none);
        var booked = await browser.PostFormAsync(address, "/diary/weekly", [.. fields, .. FourThursdays.Select(s => ("starts", Text(s)))]);
        var lesson = booked.Headers.Location!.OriginalString;
        Assert.Contains("4 lessons booked", await (await browser.GetAsync(lesson)).TextAsync());

        var move = $"{lesson}/following/move";
        Assert.Contains("moves to", await (await browser.GetAsync($"{move}?first=2026-03-06&time=11:00")).TextAsync());
        var ids = await school.Host.WithDbAsync(db => db.Set<Lesson>().OrderBy(l => l.StartsAt).Select(l => l.Id).ToListAsync());
        var moved = await browser.PostFormAsync(
            $"{move}?first=2026-03-06&time=11:00", move, [("first", "2026-03-06"), ("time", "11:00"), .. ids.Skip(1).Select(id => ("only", $"{id}"))]);
        Assert.Equal(HttpStatusCode.Redirect, moved.StatusCode);
        Assert.Equal([Thursday10, London(2026, 3, 13, 11), London(2026, 3, 20, 11), London(2026, 3, 27, 11)], await StartsAsync(school));

        var cancel = $"{lesson}/following/cancel";
        Assert.Contains("free of charge", await (await browser.GetAsync($"{cancel}?reason=Weather")).TextAsync());
        var done = await browser.PostFormAsync($"{cancel}?reason=Weather", cancel, ("reason", "Weather"), ("charged", "0"));
        Assert.Equal(HttpStatusCode.Redirect, done.StatusCode);
        Assert.Equal(0, await school.Host.WithDbAsync(db => db.Set<Lesson>().CountAsync(l => l.State == LessonState.Booked)));
    }

    [Fact]
    public async Task The_page_takes_another_pick_up_to_every_date_and_books_the_nearest_time_where_a_date_does_not_fit()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.PupilAsync("Corin Vale");
        await school.Office.BookedAsync(other.Id, school.InstructorId, FourThursdays[1]);
        using var browser = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        const string College =
            "&Places.PickUpAt=Other&Places.DropOffAt=Usual&Places.PickUp.Label=College&Places.PickUp.Address=Gate%20B&Places.PickUp.Postcode=&Places.PickUp.Position=52.405%2C%20-1.201";
        var times = await (await browser.GetAsync($"/diary/book?pupil={school.PupilId}&minutes=60{College}")).TextAsync();
        Assert.Contains($"href=\"/diary/weekly?pupil={school.PupilId}&minutes=60&with={school.InstructorId}&Places.PickUpAt=Other", times, StringComparison.Ordinal);

        var address = $"/diary/weekly?pupil={school.PupilId}&with={school.InstructorId}&first=2026-03-05&time=10:00&weeks=2&minutes=60";
        var missing = await (await browser.GetAsync(address + College.Replace("52.405%2C%20-1.201", "", StringComparison.Ordinal))).TextAsync();
        Assert.Contains("id=\"Places_PickUp_Position-error\"", missing, StringComparison.Ordinal);
        Assert.DoesNotContain("Book the ticked dates", missing, StringComparison.Ordinal);

        var shown = await (await browser.GetAsync(address + College)).TextAsync();
        Assert.Contains("from College to Mill Lane", shown, StringComparison.Ordinal);
        Assert.Contains("name=\"Places.PickUp.Label\" value=\"College\"", shown, StringComparison.Ordinal);
        var nearest = Assert.Single(shown.Split("id=\"at-").Skip(1).Select(part => part[..part.IndexOf('"', StringComparison.Ordinal)]), at => at != Text(Thursday10));
        Assert.Contains("Instead: <b>", shown, StringComparison.Ordinal);
        (string, string)[] fields =
        [
            ("pupil", $"{school.PupilId}"), ("with", $"{school.InstructorId}"), ("first", "2026-03-05"), ("time", "10:00"), ("weeks", "2"), ("minutes", "60"),
            ("Places.PickUpAt", "Other"), ("Places.DropOffAt", "Usual"), ("Places.PickUp.Label", "College"), ("Places.PickUp.Address", "Gate B"),
            ("Places.PickUp.Postcode", ""), ("Places.PickUp.Position", "52.405, -1.201"), ("starts", Text(Thursday10)), ("starts", nearest),
        ];
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(address + College, "/diary/weekly", fields)).StatusCode);
        var lessons = await school.Host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().Where(l => l.PupilId == school.PupilId).OrderBy(l => l.StartsAt).ToListAsync());
        Assert.Equal([Thursday10, StartText.Read(nearest)!.Value], lessons.Select(l => l.StartsAt));
        Assert.All(lessons, l => Assert.Equal(("College", "Mill Lane"), (l.PickUp.Label, l.DropOff.Label)));
    }

    private static async Task<List<JsonElement>> PreviewAsync(
        SmallSchool school, HttpClient api, Instant? start = null, int weeks = 4, bool skipHolidays = false) =>
        [.. (await (await AskAsync(school, api, start ?? Thursday10, weeks, skipHolidays)).JsonAsync()).GetProperty("items").EnumerateArray()];

    private static Task<HttpResponseMessage> AskAsync(SmallSchool school, HttpClient api, Instant start, int weeks, bool skipHolidays) =>
        api.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly-lessons/preview", new
        {
            pupilId = school.PupilId,
            instructorId = school.InstructorId,
            start = Text(start),
            minutes = 60,
            weeks,
            skipHolidays,
        });

    private static Task<HttpResponseMessage> BookAsync(SmallSchool school, HttpClient api, Instant[] starts) =>
        api.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly-lessons", new
        {
            pupilId = school.PupilId,
            instructorId = school.InstructorId,
            starts = starts.Select(Text),
            minutes = 60,
        });

    private static async Task<List<JsonElement>> BookedAsync(SmallSchool school) =>
        [.. (await (await BookAsync(school, school.Office, FourThursdays)).JsonAsync(HttpStatusCode.Created)).GetProperty("items").EnumerateArray()];

    private static Task<HttpResponseMessage> MoveAsync(HttpClient api, Guid lesson, Instant start, string act = "move", Guid[]? only = null) =>
        api.SendJsonAsync(HttpMethod.Post, Following(lesson, act), new { start = Text(start), only });

    private static string Following(Guid lesson, string act) => $"/api/v1/lessons/{lesson}/following/{act}";

    private static Task<int> CountAsync(SmallSchool school) => school.Host.WithDbAsync(db => db.Set<Lesson>().CountAsync());

    private static Task<List<Instant>> StartsAsync(SmallSchool school) => school.Host.WithDbAsync(
        db => db.Set<Lesson>().AsNoTracking().Where(l => l.PupilId == school.PupilId).OrderBy(l => l.StartsAt).Select(l => l.StartsAt).ToListAsync());
}
