using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Pupils;
using School.Tests;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Pupils;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Tests.Diary.Settings;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;
using static School.Web.Tests.Diary.Lessons.KindsOfLessonTests;

namespace School.Web.Tests.Diary.Lessons;

/// <summary>Kinds and breaks of lessons that are booked or told together.</summary>
public sealed class KindsToldTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task Weekly_lessons_are_of_a_kind_and_keep_it_when_they_move()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var weekly = new { pupilId = school.PupilId, instructorId = school.InstructorId, start = Text(Thursday10), minutes = 240, weeks = 2, kind = "intensive" };
        Assert.Equal("kind_booked_by_school", await (await school.Pupil.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly", new { book = weekly })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var proposal = await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly", new { book = weekly })).JsonAsync(HttpStatusCode.Created);
        await (await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/weekly/{proposal.Id()}/apply")).JsonAsync();
        var lessons = (await school.Office.GetJsonAsync("/api/v1/lessons")).GetProperty("items").EnumerateArray().ToList();
        Assert.All(lessons, lesson => Assert.Equal(("intensive", 255.0), (lesson.Word("kind"), (lesson.Moment("end") - lesson.Moment("start")).TotalMinutes)));
        var letter = (await school.MessagesAsync(lessons[0].Id(), "weekly_booked"))[^1];
        Assert.Contains("Intensive lesson", letter.Text, StringComparison.Ordinal);
        Assert.Contains("Thursday 5 March, 10:00 to 14:15, breaks 12:00 to 12:15", letter.Text, StringComparison.Ordinal);

        var moved = await (await school.Office.SendJsonAsync(
            HttpMethod.Post, $"/api/v1/lessons/{lessons[0].Id()}/following/move", new { start = Text(London(2026, 3, 6, 9)) })).JsonAsync();
        Assert.All(moved.GetProperty("items").EnumerateArray(), lesson => Assert.Equal("intensive", lesson.Word("kind")));
        var told = await school.Host.SaidAsync(all => all.Where(m => m.Kind == "weekly_moved").OrderBy(m => m.ToName));
        Assert.Equal(2, told.Count);
        Assert.All(told, letter =>
        {
            Assert.Contains("Intensive lesson", letter.Text, StringComparison.Ordinal);
            Assert.Contains("Friday 6 March, 09:00 to 13:15, breaks 11:00 to 11:15", letter.Text, StringComparison.Ordinal);
        });
    }

    [Fact]
    public async Task A_letter_about_lessons_that_are_not_alike_tells_kind_and_breaks_of_each()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var weekly = new { pupilId = school.PupilId, instructorId = school.InstructorId, start = Text(Thursday10), minutes = 60, weeks = 2 };
        var proposal = await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly", new { book = weekly })).JsonAsync(HttpStatusCode.Created);
        await (await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/weekly/{proposal.Id()}/apply")).JsonAsync();
        var lessons = (await school.Office.GetJsonAsync("/api/v1/lessons")).GetProperty("items").EnumerateArray().Select(lesson => lesson.Id()).ToList();
        await (await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{lessons[1]}/kind", new { kind = "intensive", minutes = 240 })).JsonAsync();
        await (await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{lessons[0]}/following/move", new { start = Text(London(2026, 3, 6, 9)) })).JsonAsync();

        var told = await school.Host.SaidAsync(all => all.Where(m => m.Kind == "lessons_changed").OrderBy(m => m.ToName));
        Assert.Equal(["Marigold Ashby", "Tamsin Oakley"], told.Select(letter => letter.ToName));
        Assert.All(told, letter =>
        {
            Assert.Contains("Friday 13 March, 09:00 to 13:15, intensive lesson, breaks 11:00 to 11:15", letter.Text, StringComparison.Ordinal);
            Assert.Matches("Friday 6 March, 09:00 to 10:00( with|:)", letter.Text);
        });
    }

    /// <summary>A letter that went in the first edition of the words goes on saying what it said.</summary>
    [Theory]
    [InlineData(1, "Thursday 5 March, 10:00 to 11:00: Tamsin Oakley, booked", 0)]
    [InlineData(2, "Thursday 5 March, 10:00 to 11:00, mock test, breaks 10:30 to 10:45: Tamsin Oakley, booked", 1)]
    public void A_letter_that_went_before_kinds_were_told_tells_none(int edition, string line, int kinds)
    {
        List<Fact> facts =
        [
            Fact.Of("lesson", new Interval(Thursday10, Thursday10 + Duration.FromHours(1))), Fact.Of("pupil", "Tamsin Oakley"), Fact.Of("instructor", "Marigold Ashby"), Fact.Of("kind", "Mock test"),
            Fact.Of("break", new Interval(Thursday10 + Duration.FromMinutes(30), Thursday10 + Duration.FromMinutes(45))),
        ];
        var change = new Fact(ListWording.Change) { Parts = [.. facts, Fact.Of(ListWording.Done, "Booked")] };
        // What was done stood under the name of the kind, so that a lesson of a kind could not be told at all.
        var former = new Fact(ListWording.Change) { Parts = [.. facts, Fact.Of("kind", "Booked")] };
        var formerUsual = new Fact(ListWording.Change) { Parts = [.. facts.Where(fact => fact.Name is not ("kind" or "break")), Fact.Of("kind", "Booked")] };
        var school = new SchoolFacts("Larkfield Driving School", "01632 960100", "school@larkfield.example", SchoolHost.London, false, "england-and-wales", "");
        LetterReading Read(string kind, params Fact[] all) =>
            new(new(kind, "key", Guid.Empty, Receiver.Instructor(Guid.Empty), all), "Marigold Ashby", school, Thursday10) { Edition = edition };

        Assert.Equal(kinds, new WeeklyWording().Of(Read("weekly_booked", [.. facts.Where(fact => fact.Name != "break")])).Lines.Count(said => said.Name == "What"));
        Assert.Equal(
            [line, line, "Thursday 5 March, 10:00 to 11:00: Tamsin Oakley, booked"],
            new ListWording().Of(Read("lessons_changed", change, former, formerUsual)).Lines.Select(said => said.Value));
    }

    [Fact]
    public async Task Weekly_lessons_of_a_kind_are_booked_on_their_page()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("refresher", "Refresher", [90]));
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        var page = await (await office.GetAsync(
            $"/diary/weekly?pupil={school.PupilId}&with={school.InstructorId}&kind=refresher&beside=standard&minutes=60&first=2026-03-05&time=10:00&weeks=2")).TextAsync();
        Assert.Contains("refresher, 1½ hours", page, StringComparison.Ordinal);
        (string, string)[] fields =
        [
            ("pupil", $"{school.PupilId}"), ("with", $"{school.InstructorId}"), ("kind", "Refresher"), ("minutes", "90"), ("first", "2026-03-05"), ("time", "10:00"), ("weeks", "2"),
            ("starts", "2026-03-05T10:00:00Z"), ("starts", "2026-03-12T10:00:00Z"),
        ];
        var booked = await office.PostFormAsync($"/diary/weekly?pupil={school.PupilId}", "/diary/weekly", fields);
        Assert.Equal(HttpStatusCode.Redirect, booked.StatusCode);
        var lessons = (await school.Office.GetJsonAsync("/api/v1/lessons")).GetProperty("items").EnumerateArray().ToList();
        Assert.Equal([("refresher", 90), ("refresher", 90)], lessons.Select(lesson => (lesson.Word("kind"), lesson.GetProperty("minutes").GetInt32())));
    }

    [Theory]
    [InlineData(LicenceKind.FullManual, true)]
    [InlineData(LicenceKind.FullAutomatic, false)]
    [InlineData(LicenceKind.Provisional, false)]
    public async Task Booking_begins_at_a_refresher_for_who_holds_a_full_licence_for_the_car(LicenceKind licence, bool refresher)
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await KindsTests.SavedAsync(school.Office, KindsTests.Kind("refresher", "Refresher", [60, 90]));
        await school.Host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.LicenceKind, licence)));
        using var office = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Wren Tarn"));
        foreach (var page in new[] { $"/diary/book?pupil={school.PupilId}&from=2026-03-05", $"/diary/lessons/new?pupilId={school.PupilId}&from=2026-03-05&to=2026-03-05" })
        {
            var text = await (await office.GetAsync(page)).TextAsync();
            Assert.Contains("/diary/book/check?", text, StringComparison.Ordinal);
            Assert.Equal(refresher, text.Contains("kind=refresher", StringComparison.Ordinal));
            // Who chose another kind stays there.
            var usual = await (await office.GetAsync($"{page}&kind=Standard")).TextAsync();
            Assert.Contains("/diary/book/check?", usual, StringComparison.Ordinal);
            Assert.DoesNotContain("kind=refresher", usual, StringComparison.Ordinal);
            Assert.Equal(refresher, usual.Contains("kind=standard", StringComparison.Ordinal));
        }

        var pupil = await (await office.GetAsync($"/pupils/{school.PupilId}")).TextAsync();
        await school.Host.WithDbAsync(db => db.Set<Pupil>().ExecuteUpdateAsync(set => set.SetProperty(p => p.TheoryPassedOn, (LocalDate?)null)));
        var without = await (await office.GetAsync($"/pupils/{school.PupilId}")).TextAsync();
        Assert.DoesNotContain("not asked for with a full licence", pupil, StringComparison.Ordinal);
        Assert.Equal(licence != LicenceKind.Provisional, without.Contains("not asked for with a full licence", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Brief_and_day_tell_the_kind_and_the_breaks()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await (await BookAsync(school.Office, school, "intensive", Thursday10, 240)).JsonAsync(HttpStatusCode.Created)).Id();
        var brief = await school.Pupil.GetJsonAsync($"/api/v1/lessons/{id}/brief");
        Assert.Equal(("intensive", 240), (brief.Word("kind"), brief.GetProperty("minutes").GetInt32()));
        var stop = (await school.Instructor.GetJsonAsync($"/api/v1/instructors/{school.InstructorId}/day/2026-03-05")).GetProperty("stops")[0];
        foreach (var told in new[] { brief, stop })
        {
            Assert.Equal((London(2026, 3, 5, 12), 15), (told.GetProperty("breaks")[0].Moment("start"), told.GetProperty("breaks")[0].GetProperty("minutes").GetInt32()));
        }

        Assert.Equal(240, stop.GetProperty("minutes").GetInt32());
        foreach (var role in new[] { Hat.Pupil, Hat.Instructor })
        {
            using var reader = await school.Host.PagesAsAsync(await PersonAsync(school, role));
            var page = await (await reader.GetAsync($"/syllabus/lessons/{id}/brief")).TextAsync();
            Assert.Contains("Intensive lesson", page, StringComparison.Ordinal);
            Assert.Contains("breaks 12:00 to 12:15", page, StringComparison.Ordinal);
        }
    }
}
