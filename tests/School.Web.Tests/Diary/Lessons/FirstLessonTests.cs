using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using School.Web.Tests.Syllabus.Lessons;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Lessons;

/// <summary>Somebody known by name, phone and place alone is booked by staff; what must be seen before the wheels turn is told until it is, and what is known and wrong refuses.</summary>
public sealed class FirstLessonTests(TestPostgres postgres)
{
    private const string SeenFirst = "Before driving: see the driving licence, ask the date of birth";
    private const string Bring = "Bring your driving licence: your instructor must see it before you drive, and asks your date of birth.";

    // The tests begin on Monday 2 March 2026.
    private static readonly Instant Tuesday10 = London(2026, 3, 10, 10);

    [Fact]
    public async Task Staff_book_it_and_every_place_says_what_comes_before_driving_until_it_was_seen()
    {
        await using var school = await NewAsync(Gearbox.Manual);
        var slots = await school.Office.GetJsonAsync($"/api/v1/slots?pupilId={school.PupilId}&minutes=60&from=2026-03-10&to=2026-03-10");
        Assert.True(slots.GetProperty("found").GetInt32() > 0);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Tuesday10)).Id();

        // Only one gearbox can be meant, so it is known from now on.
        Assert.Equal(Gearbox.Manual, (await PupilAsync(school)).Gearbox);
        Assert.Equal($"Corin Vale, lesson on Tuesday 10 March, 10:00. {SeenFirst}.", (await AskedAsync(school))?.Word("sentence"));
        Assert.Equal(["birthDate", "licence"], BeforeDriving(await school.Instructor.GetJsonAsync($"/api/v1/lessons/{id}/brief")));
        using var pages = await school.Host.PagesAsAsync(await school.Host.WithDbAsync(db => db.Set<Person>().SingleAsync(p => p.InstructorId == school.InstructorId)));
        foreach (var page in new[] { "/diary/day?date=2026-03-10", $"/syllabus/lessons/{id}/brief", $"/diary/lessons/{id}", $"/pupils/{school.PupilId}" })
        {
            var shown = await (await pages.GetAsync(page)).TextAsync();
            Assert.True(shown.Contains("Before driving:", StringComparison.Ordinal) && shown.Contains("see the driving licence, ask the date of birth", StringComparison.Ordinal), page);
            Assert.Contains($"href=\"/pupils/{school.PupilId}/papers\"", shown, StringComparison.Ordinal);
        }

        // Before anything else, and in the words of it alone.
        var brief = await (await pages.GetAsync($"/syllabus/lessons/{id}/brief")).TextAsync();
        Assert.True(brief.IndexOf("Before driving:", StringComparison.Ordinal) < brief.IndexOf("class=\"summary\"", StringComparison.Ordinal));
        Assert.DoesNotContain("No lesson as things stand", brief, StringComparison.Ordinal);
        var letters = await school.MessagesAsync(id, "lesson_booked");
        Assert.Contains(Bring, Assert.Single(letters, m => m.Key.EndsWith(":pupil", StringComparison.Ordinal)).Text, StringComparison.Ordinal);
        Assert.Contains($"{SeenFirst}.", Assert.Single(letters, m => m.Key.EndsWith(":instructor", StringComparison.Ordinal)).Text, StringComparison.Ordinal);

        // Seen between booking and lesson, at the kerb or before, with what stands on it.
        var papers = new { theoryPassedOn = (string?)null, licenceCheckedOn = (string?)null, birthDate = "2007-05-04", licence = new { kind = "provisional", validFrom = "2024-05-04" } };
        await (await school.Instructor.SendJsonAsync(HttpMethod.Put, $"/api/v1/pupils/{school.PupilId}/papers", papers, etag: "*")).JsonAsync();
        Assert.Null(await AskedAsync(school));
        Assert.Empty(BeforeDriving(await school.Instructor.GetJsonAsync($"/api/v1/lessons/{id}/brief")));
        Assert.DoesNotContain("Before driving:", await (await pages.GetAsync("/diary/day?date=2026-03-10")).TextAsync(), StringComparison.Ordinal);
        school.Host.Clock.Reset(London(2026, 3, 9, 18));
        await EveningBriefTests.RunAsync(school);
        Assert.DoesNotContain("must see it before you drive", Assert.Single(await school.MessagesAsync(id, LessonMessages.Brief)).Text, StringComparison.Ordinal);
        Assert.Equal(LessonState.Booked, (await LessonAsync(school, id)).State);
    }

    [Fact]
    public async Task From_school_and_home_after_it_is_one_call()
    {
        await using var school = await NewAsync(Gearbox.Manual);
        var at = await (await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/pupils/{school.PupilId}/places", new { label = "School", latitude = 52.41, longitude = -1.21 })).JsonAsync(HttpStatusCode.Created);
        var lesson = await (await school.Instructor.SendJsonAsync(HttpMethod.Post, "/api/v1/lessons", new
        {
            pupilId = school.PupilId,
            instructorId = school.InstructorId,
            start = Text(Tuesday10),
            minutes = 60,
            pickUp = new { placeId = at.Id() },
            dropOff = new { label = "Home", latitude = 52.4, longitude = -1.2 },
        })).JsonAsync(HttpStatusCode.Created);
        Assert.Equal(("School", "Home"), (lesson.GetProperty("pickUp").Word("label"), lesson.GetProperty("dropOff").Word("label")));
    }

    [Fact]
    public async Task The_evening_before_the_pupil_is_asked_again_to_bring_the_licence()
    {
        await using var school = await NewAsync(Gearbox.Manual);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Tuesday10)).Id();
        school.Host.Clock.Reset(London(2026, 3, 9, 18));
        await EveningBriefTests.RunAsync(school);
        Assert.Contains(Bring, Assert.Single(await school.MessagesAsync(id, LessonMessages.Brief)).Text, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(1, "now")]
    [InlineData(24, "today")]
    [InlineData(9 * 24, "soon")]
    public async Task The_nearer_the_first_lesson_the_more_urgent_it_is(int hoursAhead, string urgency)
    {
        await using var school = await NewAsync(Gearbox.Manual);
        school.Host.Clock.Reset(London(2026, 3, 3, 10));
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 3, 10) + Duration.FromHours(hoursAhead));
        Assert.Equal(urgency, (await AskedAsync(school))?.Word("urgency"));
    }

    [Fact]
    public async Task Where_both_gearboxes_are_taught_it_is_asked_once_and_kept()
    {
        await using var school = await NewAsync(Gearbox.Manual, Gearbox.Automatic);
        await school.Host.Data.CarAsync(school.InstructorId, Gearbox.Automatic);
        var refused = await (await school.Office.BookAsync(school.PupilId, school.InstructorId, Tuesday10)).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.Equal(("details_missing", "gearbox"), (refused.Word("code"), Assert.Single(refused.GetProperty("missing").EnumerateArray()).GetString()));
        var slots = await school.Office.GetJsonAsync($"/api/v1/slots?pupilId={school.PupilId}&minutes=60&from=2026-03-10&to=2026-03-10");
        Assert.Equal((0, "details_missing"), (slots.GetProperty("found").GetInt32(), slots.GetProperty("obstacles")[0].Word("code")));
        slots = await school.Office.GetJsonAsync($"/api/v1/slots?pupilId={school.PupilId}&minutes=60&from=2026-03-10&to=2026-03-10&gearbox=automatic");
        Assert.True(slots.GetProperty("found").GetInt32() > 0);
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Hazel Wray"));
        foreach (var page in new[] { $"/diary/book?pupil={school.PupilId}", $"/diary/lessons/new?pupilId={school.PupilId}" })
        {
            var shown = await (await pages.GetAsync(page)).TextAsync();
            Assert.Contains("In which kind of car?", shown, StringComparison.Ordinal);
            Assert.Contains("gearbox=automatic\"", shown, StringComparison.Ordinal);
        }

        Assert.Contains("name=\"gearbox\" value=\"Automatic\"", await (await pages.GetAsync($"/diary/book?pupil={school.PupilId}&gearbox=automatic")).TextAsync(), StringComparison.Ordinal);
        object Body(string gearbox, int hour) => new { pupilId = school.PupilId, instructorId = school.InstructorId, start = Text(London(2026, 3, 10, hour)), minutes = 60, gearbox };
        var lesson = await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/lessons", Body("automatic", 10))).JsonAsync(HttpStatusCode.Created);
        Assert.Equal(Gearbox.Automatic, (await PupilAsync(school)).Gearbox);
        Assert.Equal(Gearbox.Automatic, await school.Host.WithDbAsync(db => db.Set<Modules.Cars.Car>().Where(car => car.Id == lesson.Id("carId")).Select(car => car.Gearbox).SingleAsync()));
        Assert.Contains("pupil.gearbox", await school.Host.WithDbAsync(db => db.Set<Modules.Records.AuditEntry>().Select(entry => entry.What).ToListAsync()));
        Assert.Equal(["gearbox"], await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/lessons", Body("manual", 14))).WrongFieldsAsync());
        Assert.Equal(1, await school.Host.WithDbAsync(db => db.Set<Lesson>().CountAsync()));
    }

    [Fact]
    public async Task Of_weekly_lessons_each_is_booked_and_it_is_asked_once()
    {
        await using var school = await NewAsync(Gearbox.Manual);
        var weekly = new { pupilId = school.PupilId, instructorId = school.InstructorId, start = Text(Tuesday10), minutes = 60, weeks = 4 };
        var dates = (await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly-lessons/preview", weekly)).JsonAsync()).GetProperty("items").EnumerateArray().ToList();
        Assert.All(dates, date => Assert.True(date.GetProperty("fits").GetBoolean(), date.GetRawText()));
        var starts = dates.Select(date => date.Word("start")).ToList();
        var booked = await (await school.Office.SendJsonAsync(
            HttpMethod.Post, "/api/v1/weekly-lessons", new { pupilId = school.PupilId, instructorId = school.InstructorId, starts, minutes = 60 })).JsonAsync(HttpStatusCode.Created);
        Assert.Equal(4, booked.GetProperty("items").GetArrayLength());
        Assert.Contains("Tuesday 10 March, 10:00", (await AskedAsync(school))?.Word("sentence"), StringComparison.Ordinal);
        var letters = await school.Host.SaidAsync(all => all.Where(m => m.Kind == "weekly_booked"));
        Assert.Contains(letters, letter => letter.Text.Contains(Bring, StringComparison.Ordinal));
    }

    [Fact]
    public async Task A_pupil_who_books_is_asked_first_and_moves_what_the_school_booked()
    {
        await using var school = await NewAsync(Gearbox.Manual);
        await PupilsAsync(school, set => set.SetProperty(p => p.Email, "corin@larkfield.example"));
        using var own = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(await PupilAsync(school)));
        Assert.Equal("details_missing", await (await own.BookAsync(school.PupilId, school.InstructorId, Tuesday10)).CodeAsync(HttpStatusCode.UnprocessableEntity));
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Tuesday10)).Id();
        await (await own.MoveAsync(id, London(2026, 3, 11, 14), etag: "*")).JsonAsync();
        Assert.Equal(London(2026, 3, 11, 14), (await LessonAsync(school, id)).StartsAt);
        Assert.Contains("Wednesday 11 March, 14:00", (await AskedAsync(school))?.Word("sentence"), StringComparison.Ordinal);
        Assert.Contains(Bring, Assert.Single(await school.MessagesAsync(id, "lesson_moved"), m => m.Key.EndsWith(":pupil", StringComparison.Ordinal)).Text, StringComparison.Ordinal);
        Assert.Equal("details_missing", await (await own.BookAsync(school.PupilId, school.InstructorId, London(2026, 3, 17, 10))).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Fact]
    public async Task Whoever_covers_teaches_in_the_gearbox_that_was_settled()
    {
        await using var school = await NewAsync(Gearbox.Manual);
        var cover = await school.Host.Data.InstructorAsync("Bram Holt", cars: Gearbox.Automatic);
        await school.Host.WithDbAsync(db => db.Set<Instructor>().Where(i => i.Id == cover.Id).ExecuteUpdateAsync(set => set.SetProperty(i => i.Teaches, [Gearbox.Automatic])));
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Tuesday10)).Id();
        Assert.Equal("wrong_gearbox", await (await school.Office.MoveAsync(id, Tuesday10, cover.Id, "*")).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Equal(school.InstructorId, (await LessonAsync(school, id)).InstructorId);
    }

    [Fact]
    public async Task Who_turns_out_to_be_sixteen_is_told_of_at_once_and_nothing_is_lost()
    {
        await using var school = await NewAsync(Gearbox.Manual);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Tuesday10)).Id();
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Hazel Wray"));
        var page = $"/pupils/{school.PupilId}/papers";
        var version = (await PupilAsync(school)).Version;
        var saved = await pages.PostFormAsync(
            page, ("Version", $"{version}"), ("BirthDate.Day", "1"), ("BirthDate.Month", "2"), ("BirthDate.Year", "2010"), ("Licence.Kind", "Provisional"), ("Licence.ValidFrom.Day", "3"), ("Licence.ValidFrom.Month", "2"), ("Licence.ValidFrom.Year", "2026"));
        var told = saved.Headers.Location is { } to ? await (await pages.GetAsync(to)).TextAsync() : await saved.TextAsync();
        Assert.Contains("The next lesson, Tuesday 10 March, 10:00, cannot take place as it stands: The pupil is too young on this date. The earliest lesson is on 1 February 2027. Nothing was cancelled", told, StringComparison.Ordinal);

        Assert.Equal((new LocalDate(2010, 2, 1), LessonState.Booked), ((await PupilAsync(school)).BirthDate!.Value, (await LessonAsync(school, id)).State));
        var impossible = Assert.Single(await AttentionAsync(school), item => item.Word("kind") == "impossible_lesson");
        Assert.Contains("The pupil is under 17 on that date.", impossible.Word("sentence"), StringComparison.Ordinal);
        Assert.Equal("pupil_too_young", await (await school.Office.BookAsync(school.PupilId, school.InstructorId, London(2026, 3, 17, 10))).CodeAsync(HttpStatusCode.UnprocessableEntity));
        // Whoever teaches changes no date of birth that is known.
        var other = new { theoryPassedOn = (string?)null, licenceCheckedOn = (string?)null, birthDate = "2007-05-04" };
        Assert.Equal(["birthDate"], await (await school.Instructor.SendJsonAsync(HttpMethod.Put, $"/api/v1/pupils/{school.PupilId}/papers", other, etag: "*")).WrongFieldsAsync());
    }

    [Theory]
    [InlineData("young", "pupil_too_young")]
    [InlineData("eyes", "eyesight_failed")]
    [InlineData("disqualified", "disqualified")]
    [InlineData("ended", "licence_ended")]
    public async Task What_is_known_and_wrong_refuses_as_ever(string what, string code)
    {
        await using var school = await NewAsync(Gearbox.Manual);
        await PupilsAsync(school, set => _ = what switch
        {
            "young" => set.SetProperty(p => p.BirthDate, new LocalDate(2009, 6, 1)),
            "eyes" => set.SetProperty(p => p.EyesightFailedOn, new LocalDate(2026, 3, 1)),
            "disqualified" => set.SetProperty(p => p.LicenceKind, School.Core.Pupils.LicenceKind.Disqualified).SetProperty(p => p.DisqualifiedUntil, new LocalDate(2026, 6, 1)),
            _ => set.SetProperty(p => p.LicenceFrom, new LocalDate(2020, 1, 1)).SetProperty(p => p.LicenceUntil, new LocalDate(2026, 3, 9)),
        });
        Assert.Equal(code, await (await school.Office.BookAsync(school.PupilId, school.InstructorId, Tuesday10)).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Theory]
    [InlineData("motorway")]
    [InlineData("testDay")]
    public async Task A_motorway_and_a_lesson_beside_a_test_wait_for_the_papers(string kind)
    {
        await using var school = await NewAsync(Gearbox.Manual);
        var body = new { pupilId = school.PupilId, instructorId = school.InstructorId, start = Text(Tuesday10), minutes = 60, kind };
        var refused = await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/lessons", body)).JsonAsync(HttpStatusCode.UnprocessableEntity);
        Assert.Equal(("details_missing", "birthDate licence"), (refused.Word("code"), string.Join(' ', refused.GetProperty("missing").EnumerateArray().Select(one => one.GetString()))));
        Assert.Null((await PupilAsync(school)).Gearbox);
        // Nor does a lesson that stands become one.
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Tuesday10)).Id();
        Assert.Equal("details_missing", await (await school.Office.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{id}/kind", new { kind }, etag: "*")).CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    [Fact]
    public async Task The_record_at_the_kerb_is_never_refused()
    {
        await using var school = await NewAsync(Gearbox.Manual);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Tuesday10)).Id();
        school.Host.Clock.Reset(London(2026, 3, 10, 11, 5));
        Assert.Equal(HttpStatusCode.OK, (await school.Instructor.RecordAsync(id, 60, "Moving off.")).StatusCode);
        Assert.Equal(LessonState.Taught, (await LessonAsync(school, id)).State);
    }

    /// <summary>A school with one instructor and somebody of whom name, phone and place are known.</summary>
    private async Task<SmallSchool> NewAsync(params Gearbox[] teaches)
    {
        var school = await SmallSchool.StartAsync(postgres);
        await school.Host.WithDbAsync(db => db.Set<Instructor>().ExecuteUpdateAsync(set => set.SetProperty(i => i.Teaches, teaches.ToList())));
        var made = await (await school.Office.SendJsonAsync(HttpMethod.Post, "/api/v1/pupils", new
        {
            name = "Corin Vale",
            phone = "07700 900123",
            usualInstructorId = school.InstructorId,
            pickUp = new { label = "Home", latitude = 52.4, longitude = -1.2 },
        })).JsonAsync(HttpStatusCode.Created);
        return new() { Host = school.Host, PupilId = made.Id(), InstructorId = school.InstructorId, Pupil = school.Pupil, Instructor = school.Instructor, Office = school.Office };
    }

    private static Task<Pupil> PupilAsync(SmallSchool school) => school.Host.WithDbAsync(db => db.Set<Pupil>().AsNoTracking().SingleAsync(p => p.Id == school.PupilId));

    private static Task<Lesson> LessonAsync(SmallSchool school, Guid id) => school.Host.WithDbAsync(db => db.Set<Lesson>().AsNoTracking().SingleAsync(l => l.Id == id));

    private static Task<int> PupilsAsync(SmallSchool school, Action<Microsoft.EntityFrameworkCore.Query.UpdateSettersBuilder<Pupil>> set) =>
        school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.PupilId).ExecuteUpdateAsync(set));

    private static async Task<List<JsonElement>> AttentionAsync(SmallSchool school) => [.. (await school.Office.GetJsonAsync("/api/v1/attention")).GetProperty("items").EnumerateArray()];

    private static async Task<JsonElement?> AskedAsync(SmallSchool school) =>
        (await AttentionAsync(school)).Where(item => item.Word("kind") == "details_missing").Select(item => (JsonElement?)item).SingleOrDefault();

    private static IEnumerable<string> BeforeDriving(JsonElement brief) => brief.GetProperty("beforeDriving").EnumerateArray().Select(one => one.GetString()!);
}
