using System.Net;
using System.Text.Json.Nodes;
using Microsoft.EntityFrameworkCore;
using School.Core.Syllabus.Mocks;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Syllabus;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Modules.Syllabus.Mocks;
using School.Web.Tests.Diary;
using static System.Net.Http.HttpMethod;

namespace School.Web.Tests.Clashes;

internal static class SyllabusRecipes
{
    private static readonly object Drive = new { on = "2026-03-01", minutes = 45, supervisor = "Fern Oakley", conditions = Array.Empty<string>(), skills = Array.Empty<string>() };

    public static IEnumerable<Recipe> All =>
    [
        new("RecordLesson", async world => Act.Api(world.Office, Put, $"{await PastLessonAsync(world)}/record", new { minutesTaught = 55, note = "Mirrors came by themselves." })),
        new("SameTimeNextWeek", async world =>
        {
            var (pupil, instructor) = await world.FreshDiaryAsync();
            var id = await world.LessonAsync(pupil, instructor, DiaryApi.London(2026, 3, 3, 10));
            return Act.Verb<SameTimeNextWeek, LessonJson>(world.Host, book => book.RunAsync(world.Viewer, id, DiaryApi.London(2026, 3, 10, 10), default));
        }),
        new("ReflectOnLesson", async world =>
        {
            var (pupil, instructor) = await world.FreshDiaryAsync();
            var url = $"/api/v1/lessons/{await world.PastLessonAsync(pupil, instructor)}";
            await (await world.Office.SendJsonAsync(Put, $"{url}/record", new { minutesTaught = 55 }, etag: "*")).JsonAsync();
            return Act.Api(await world.ApiAsAsync(pupil), Put, $"{url}/reflection", new { reflection = "I looked far ahead." });
        }),
        new("AddPractice", async world => Act.Api(world.Office, Post, await PracticeAsync(world), Drive, etag: null)),
        new("ChangePractice", async world => Act.Api(
            world.Office, Put, await DrivenAsync(world), new { on = "2026-03-01", minutes = 60, supervisor = "Fern Oakley", conditions = new[] { "rain" }, skills = Array.Empty<string>() })),
        new("RemovePractice", async world => Act.Api(world.Office, Delete, await DrivenAsync(world))),
        new("ShareForecast", async world => Act.Api(world.Office, Put, $"{await PupilAsync(world)}/readiness/shared", new { sentence = $"Well on the way, {world.Next()}." })),
        new("WithdrawForecast", async world =>
        {
            var url = $"{await PupilAsync(world)}/readiness/shared";
            await (await world.Office.SendJsonAsync(Put, url, new { sentence = "Well on the way." }, etag: "*")).JsonAsync();
            return Act.Api(world.Office, Delete, url);
        }),
        new("AddMockTest", async world => Act.Api(world.Office, Post, $"/api/v1/pupils/{(await world.PupilAsync()).Id}/mock-tests", Mock(), etag: null)),
        new("ReplaceMockTest", async world => Act.Api(world.Office, Put, $"/api/v1/mock-tests/{await MockAsync(world)}", Mock("18"))),
        new("TapMockTest", async world => await TapAsync(world, new MockTap.Fault("18", FaultKind.Driving))),
        new("TapMockTest", async world => await TapAsync(world, new MockTap.Finish(1, 0, "Steady."))),
        new("DiscardMockTest", async world =>
        {
            var id = await MockAsync(world);
            return Act.Verb<DiscardMockTest, MockTest>(world.Host, discard => discard.RunAsync(world.Viewer, id, default));
        }),
        new("ChangeSyllabus", async world =>
        {
            using var read = await world.Office.GetAsync("/api/v1/syllabus");
            var body = JsonNode.Parse(await read.Content.ReadAsStringAsync())!;
            body["groups"]![0]!["skills"]![0]!["name"] = $"Cockpit checks {world.Next()}";
            return Act.Api(world.Office, Put, "/api/v1/syllabus", body, read.Headers.ETag!.Tag);
        }),
        new("ChangeSettings", async world =>
        {
            var row = await world.Host.WithDbAsync(db => db.Set<SyllabusSettings>().AsNoTracking().SingleAsync());
            return await Act.PageAsync(
                world.OfficePages, "/syllabus/settings", "/syllabus/settings",
                ("Version", $"{row.Version}"), ("StaleDays", $"{row.StaleDays + (world.Next() % 2 == 0 ? 1 : -1)}"), ("PracticeWeight", $"{row.PracticeWeight}"));
        }),
        new("ChangeBriefSettings", world => Act.ChangeNumberAsync(world, "/api/v1/evening-briefs/settings", "hour")),
        new("EveningBriefs (job)", async world =>
        {
            var (pupil, instructor) = await world.FreshDiaryAsync();
            await world.LessonAsync(pupil, instructor, DiaryApi.London(2026, 3, 3, 10));
            await world.SqlAsync("UPDATE syllabus.brief_settings SET hour = 12");
            return Act.At(world, DiaryApi.London(2026, 3, 2, 18), Act.Job<EveningBriefs>(world.Host, job => job.RunAsync(default)));
        }),
    ];

    private static async Task<string> PastLessonAsync(World world)
    {
        var (pupil, instructor) = await world.FreshDiaryAsync();
        return $"/api/v1/lessons/{await world.PastLessonAsync(pupil, instructor)}";
    }

    private static async Task<string> PracticeAsync(World world) => $"/api/v1/pupils/{(await world.PupilAsync()).Id}/practice";

    private static async Task<string> DrivenAsync(World world)
    {
        var url = await PracticeAsync(world);
        return $"{url}/{(await (await world.Office.SendJsonAsync(Post, url, Drive)).JsonAsync(HttpStatusCode.Created)).Id()}";
    }

    private static object Mock(string heading = "7") => new { faults = new[] { new { heading, kind = "driving" } } };

    private static async Task<Guid> MockAsync(World world) =>
        (await (await world.Office.SendJsonAsync(Post, $"/api/v1/pupils/{(await world.PupilAsync()).Id}/mock-tests", Mock())).JsonAsync(HttpStatusCode.Created)).Id();

    private static async Task<Act> TapAsync(World world, MockTap tap)
    {
        var id = await MockAsync(world);
        return Act.Verb<TapMockTest, MockTest>(world.Host, verb => verb.RunAsync(world.Viewer, id, tap, default));
    }

    private static async Task<string> PupilAsync(World world) => $"/api/v1/pupils/{(await world.PupilAsync()).Id}";
}
