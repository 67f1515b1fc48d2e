using System.Net;
using School.Tests;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static School.Web.Tests.Syllabus.Lessons.LessonBriefTests;
using static School.Web.Tests.Syllabus.Lessons.LessonRecordTests;

namespace School.Web.Tests.Syllabus.Lessons;

public sealed class DetailsPageTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_pupil_reads_what_was_learned_and_keeps_own_words_there()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TaughtHourAsync(school);
        using var browser = await school.Host.PagesAsAsync(await PersonOfAsync(school, pupil: school.PupilId));
        var page = $"/syllabus/lessons/{id}";
        Assert.Contains("Nothing recorded yet", await (await browser.GetAsync(page)).TextAsync(), StringComparison.Ordinal);
        await (await RecordAsync(school.Instructor, id, new
        {
            minutesTaught = 60,
            note = "Steady.",
            aim = "Bends.",
            privateNote = "Hidden",
            levels = new[] { new { skill = "roundabouts", level = "prompted" } },
        })).JsonAsync();

        var shown = await (await browser.GetAsync(page)).TextAsync();
        Assert.All(["Roundabouts", "Prompted", "Steady.", "Bends."], words => Assert.Contains(words, shown, StringComparison.Ordinal));
        Assert.DoesNotContain("Hidden", shown, StringComparison.Ordinal);
        Assert.Contains($"href=\"{page}\"", await (await browser.GetAsync($"/diary/lessons/{id}")).TextAsync(), StringComparison.Ordinal);

        Assert.Equal(page, (await browser.PostFormAsync(page, ("Input.Reflection", "Look further ahead 🙂"))).Headers.Location?.ToString());
        var kept = await (await browser.GetAsync(page)).TextAsync();
        Assert.Contains("Look further ahead 🙂", kept, StringComparison.Ordinal);
        Assert.Contains("Your words are kept.", kept, StringComparison.Ordinal);
        var tooLong = new string('x', 1001);
        var refused = await (await browser.PostFormAsync(page, ("Input.Reflection", tooLong))).TextAsync();
        Assert.Contains("Input_Reflection-error", refused, StringComparison.Ordinal);
        Assert.Contains(tooLong, refused, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Staff_see_how_the_record_stood_before_and_the_pupil_does_not()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var id = await TaughtHourAsync(school);
        await (await RecordAsync(school.Instructor, id, new { minutesTaught = 50, note = "First words.", levels = new[] { new { skill = "parking", level = "helped" } } })).JsonAsync();
        await (await RecordAsync(school.Office, id, new { minutesTaught = 60, note = "Second words." })).JsonAsync();
        var page = $"/syllabus/lessons/{id}";
        using var staff = await school.Host.PagesAsAsync(await PersonOfAsync(school, instructor: school.InstructorId));
        var shown = await (await staff.GetAsync(page)).TextAsync();
        Assert.All(["As it stood before", "First words.", "Parking: Helped", "Second words."], words => Assert.Contains(words, shown, StringComparison.Ordinal));
        Assert.DoesNotContain("Input.Reflection", shown, StringComparison.Ordinal);
        using var pupil = await school.Host.PagesAsAsync(await PersonOfAsync(school, pupil: school.PupilId));
        var shared = await (await pupil.GetAsync(page)).TextAsync();
        Assert.Contains("Second words.", shared, StringComparison.Ordinal);
        Assert.DoesNotContain("First words.", shared, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.NotFound, (await staff.PostFormAsync("/diary/time-off", page, ("Input.Reflection", "Not mine"))).StatusCode);
    }
}
