using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Syllabus;
using School.Tests;
using School.Web.Modules.Pupils;
using School.Web.Modules.Records;
using School.Web.Modules.Syllabus;
using School.Web.Tests.Diary;
using School.Web.Tests.Diary.TestDays;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;
using static School.Web.Tests.Syllabus.Lessons.LessonRecordTests;

namespace School.Web.Tests.Syllabus.Lessons;

public sealed class LessonBriefTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task A_brief_tells_what_last_time_asked_for_and_what_the_syllabus_suggests()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var first = await TaughtHourAsync(school);
        await (await RecordAsync(school.Instructor, first, new
        {
            minutesTaught = 60,
            note = "Smooth stops.",
            aim = "Moving off uphill.",
            levels = new[] { new { skill = "legal-responsibilities", level = "prompted" }, new { skill = "cockpit-checks", level = "helped" } },
        })).JsonAsync();
        await (await ReflectAsync(school.Pupil, first, "The clutch is hard.")).JsonAsync();
        var next = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 10, 10))).Id();

        var brief = await school.Instructor.GetJsonAsync($"/api/v1/lessons/{next}/brief");
        var asked = brief.GetProperty("asked");
        Assert.Equal(("2026-03-05", "Smooth stops.", "Moving off uphill.", "The clutch is hard."), (asked.Word("on"), asked.Word("note"), asked.Word("aim"), asked.Word("reflection")));
        // What was agreed, the skill that does not stand yet, and the next not yet started in the order of the driver's record whose needs stand.
        Assert.Equal(["moving-away-and-stopping:agreed:", "cockpit-checks:working:helped", "safety-checks:next:"], Suggested(brief));
        Assert.False(brief.GetProperty("firstLesson").GetBoolean());
        Assert.Equal(("Mill Lane", "manual"), (brief.GetProperty("pickUp").Word("label"), brief.Word("gearbox")));
    }

    [Fact]
    public async Task A_skill_that_no_lesson_touched_for_six_weeks_is_suggested_again()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var first = await TaughtHourAsync(school);
        await (await RecordAsync(school.Instructor, first, new { minutesTaught = 60, levels = new[] { new { skill = "signals", level = "independent" } } })).JsonAsync();
        foreach (var (date, stale) in new[] { (new LocalDate(2026, 4, 16), false), (new LocalDate(2026, 4, 17), true) })
        {
            var next = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(date.Year, date.Month, date.Day, 10))).Id();
            Assert.Equal(stale, Suggested(await school.Instructor.GetJsonAsync($"/api/v1/lessons/{next}/brief")).Contains("signals:stale:independent"));
        }
    }

    [Fact]
    public async Task An_aim_whose_words_name_no_skill_brings_no_subject_and_none_of_its_cautions()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var first = await TaughtHourAsync(school);
        await (await RecordAsync(school.Instructor, first, new { minutesTaught = 60, aim = "Keep your eyes on the road." })).JsonAsync();
        var next = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, London(2026, 3, 10, 10))).Id();

        Assert.DoesNotContain(Suggested(await school.Instructor.GetJsonAsync($"/api/v1/lessons/{next}/brief")), skill => skill.Contains(":agreed:", StringComparison.Ordinal));
        using var browser = await school.Host.PagesAsAsync(await PersonOfAsync(school, instructor: school.InstructorId));
        var page = await (await browser.GetAsync($"/syllabus/lessons/{next}/brief")).TextAsync();
        Assert.Contains("Keep your eyes on the road.", page, StringComparison.Ordinal);
        Assert.DoesNotContain("found by the words", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_test_ahead_stands_first_and_leads_there()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lesson = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        await school.Office.EnteredAsync(school.PupilId, London(2026, 3, 4, 8, 10));
        using var teaches = await school.Host.PagesAsAsync(await PersonOfAsync(school, instructor: school.InstructorId));
        using var learns = await school.Host.PagesAsAsync(await PersonOfAsync(school, pupil: school.PupilId));
        Assert.DoesNotContain("Test Wednesday", await (await teaches.GetAsync($"/syllabus/lessons/{lesson}/brief")).TextAsync(), StringComparison.Ordinal);

        var test = (await school.Office.EnteredAsync(school.PupilId, London(2026, 3, 18, 8, 10))).Id();
        foreach (var browser in new[] { teaches, learns })
        {
            var page = await (await browser.GetAsync($"/syllabus/lessons/{lesson}/brief")).TextAsync();
            var line = page.IndexOf($"<a href=\"/diary/test-days/{test}\">Test Wednesday 18 March, 08:10, Northgate</a>", StringComparison.Ordinal);
            Assert.InRange(line, page.IndexOf("<h1>", StringComparison.Ordinal), page.IndexOf("class=\"summary\"", StringComparison.Ordinal));
        }
    }

    [Fact]
    public async Task A_first_lesson_says_so_and_what_to_check_first()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var brief = await school.Instructor.GetJsonAsync($"/api/v1/lessons/{id}/brief");
        Assert.True(brief.GetProperty("firstLesson").GetBoolean());
        Assert.Equal(JsonValueKind.Null, brief.GetProperty("asked").ValueKind);
        Assert.Equal(["legal-responsibilities:next:"], Suggested(brief));
        Assert.Equal("eyesight_unchecked", Assert.Single(brief.GetProperty("blocks").EnumerateArray()).Word("code"));

        using var browser = await school.Host.PagesAsAsync(await PersonOfAsync(school, instructor: school.InstructorId));
        var page = await (await browser.GetAsync($"/syllabus/lessons/{id}/brief")).TextAsync();
        Assert.Contains("First lesson: check first", page, StringComparison.Ordinal);
        Assert.Contains("The Highway Code, rule 92", page, StringComparison.Ordinal);
        Assert.Contains("The instructor’s judgement and the current official text decide.", page, StringComparison.Ordinal);
        Assert.DoesNotContain("Health or support notes", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_pupil_reads_a_plain_version_and_a_stranger_none()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await PublishAsync(school.Host, skill => skill.Key == "legal-responsibilities", skill => Filled(skill));
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        var plain = await school.Pupil.GetJsonAsync($"/api/v1/lessons/{id}/brief");
        Assert.Equal("What you must have with you.", plain.GetProperty("suggested")[0].GetProperty("plain")[0].GetString());
        Assert.All(["gearboxPoints", "safetyPoints", "hasHealthNotes"], member => Assert.Equal(JsonValueKind.Null, plain.GetProperty(member).ValueKind));
        Assert.Equal(JsonValueKind.Null, plain.GetProperty("suggested")[0].GetProperty("explain").ValueKind);

        using var browser = await school.Host.PagesAsAsync(await PersonOfAsync(school, pupil: school.PupilId));
        var page = await (await browser.GetAsync($"/syllabus/lessons/{id}/brief")).TextAsync();
        Assert.Contains("What you must have with you.", page, StringComparison.Ordinal);
        Assert.Contains("Bring your driving licence", page, StringComparison.Ordinal);
        Assert.DoesNotContain("the pupil", page, StringComparison.OrdinalIgnoreCase);
        foreach (var stranger in new[] { await school.Host.Data.PersonAsync(await school.Host.Data.PupilAsync("Corin Vale")), await school.Host.Data.PersonAsync(await school.Host.Data.InstructorAsync("Basil Thornby")) })
        {
            using var api = await school.Host.ApiAsAsync(stranger);
            Assert.Equal(HttpStatusCode.NotFound, (await api.GetAsync($"/api/v1/lessons/{id}/brief")).StatusCode);
        }
    }

    [Fact]
    public async Task A_brief_speaks_of_the_gearbox_of_the_car_that_the_lesson_is_in()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await PublishAsync(school.Host, skill => skill.Key == "legal-responsibilities", skill => Filled(skill));
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        Assert.Equal(["Find the bite."], Points(await school.Instructor.GetJsonAsync($"/api/v1/lessons/{id}/brief"), "gearboxPoints"));

        var automatic = await school.Host.Data.CarAsync(school.InstructorId, Core.Cars.Gearbox.Automatic);
        await school.Host.WithDbAsync(db => db.Set<Modules.Diary.Lessons.Lesson>().Where(l => l.Id == id).ExecuteUpdateAsync(set => set.SetProperty(l => l.CarId, automatic.Id)));
        var brief = await school.Instructor.GetJsonAsync($"/api/v1/lessons/{id}/brief");
        Assert.Equal(["Hold the footbrake."], Points(brief, "gearboxPoints"));
        Assert.Equal(["Stop if in doubt."], Points(brief, "safetyPoints"));
        Assert.Equal(["One.", "Two.", "Three."], brief.GetProperty("suggested")[0].GetProperty("explain").EnumerateArray().Select(point => point.Word("text")));
    }

    [Fact]
    public async Task Health_notes_are_pointed_to_and_never_shown_and_only_opening_them_is_noted()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = (await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        using var browser = await school.Host.PagesAsAsync(await PersonOfAsync(school, instructor: school.InstructorId));
        Assert.Equal(HttpStatusCode.Redirect, (await browser.PostFormAsync(
            $"/pupils/{school.PupilId}/guarded", ("HealthNotes", "Epilepsy, seizure-free since 2020"), ("Version", $"{await VersionAsync(school)}"))).StatusCode);
        var noted = await AuditedAsync(school);

        var page = await (await browser.GetAsync($"/syllabus/lessons/{id}/brief")).TextAsync();
        Assert.Contains("Health or support notes are recorded.", page, StringComparison.Ordinal);
        Assert.Contains($"href=\"/pupils/{school.PupilId}/guarded\"", page, StringComparison.Ordinal);
        Assert.DoesNotContain("Epilepsy", page, StringComparison.Ordinal);
        Assert.True((await school.Instructor.GetJsonAsync($"/api/v1/lessons/{id}/brief")).GetProperty("hasHealthNotes").GetBoolean());
        Assert.Equal(noted, await AuditedAsync(school));
    }

    internal static Task<School.Web.Modules.People.Person> PersonOfAsync(SmallSchool school, Guid? instructor = null, Guid? pupil = null) =>
        school.Host.WithDbAsync(db => db.Set<School.Web.Modules.People.Person>().SingleAsync(p => instructor != null ? p.InstructorId == instructor : p.PupilId == pupil));

    /// <summary>A second edition in which some skills say more.</summary>
    internal static async Task PublishAsync(SchoolHost host, Func<Skill, bool> which, Func<Skill, Skill> change)
    {
        var groups = SyllabusDefaults.GreatBritain().Groups.Select(group => group with { Skills = [.. group.Skills.Select(skill => which(skill) ? change(skill) : skill)] });
        await host.AddAsync(KeptEdition.Of(new SyllabusEdition(2, [.. groups]), host.Clock.GetCurrentInstant(), "Rosalind Pike", "More words."));
    }

    internal static Skill Filled(Skill skill) => skill with
    {
        Aim = "Knows what the law asks.",
        Plain = ["What you must have with you."],
        Explain = [new("One."), new("Two."), new("Three."), new("Four.")],
        Automatic = [new("Hold the footbrake.")],
        Manual = [new("Find the bite.")],
        Safety = [new("Stop if in doubt.")],
    };

    private static Task<int> VersionAsync(SmallSchool school) => school.Host.WithDbAsync(db => db.Set<Pupil>().Where(p => p.Id == school.PupilId).Select(p => p.Version).SingleAsync());

    private static Task<int> AuditedAsync(SmallSchool school) => school.Host.WithDbAsync(db => db.Set<AuditEntry>().CountAsync());

    private static string[] Suggested(JsonElement brief) =>
        [.. brief.GetProperty("suggested").EnumerateArray().Select(skill => $"{skill.Word("skill")}:{skill.Word("why")}:{skill.Word("level")}")];

    private static IEnumerable<string?> Points(JsonElement brief, string member) => brief.GetProperty(member).EnumerateArray().Select(point => point.Word("text"));
}
