using NodaTime;
using School.Web.Modules.People;
using School.Web.Tests.Diary;
using School.Web.Tests.Diary.TestDays;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;

namespace School.Web.Tests.Clashes;

internal static class DiaryRecipes
{
    private static readonly Instant Thursday10 = DiaryApi.London(2026, 3, 5, 10);
    private static readonly Instant Thursday14 = DiaryApi.London(2026, 3, 5, 14);

    private static readonly object Snow = new { start = "2026-03-05T08:00:00Z", end = "2026-03-05T18:00:00Z", act = "cancel", reason = "weather" };

    public static IEnumerable<Recipe> All =>
    [
        new("BookLesson", async world =>
        {
            var (pupil, instructor) = await world.FreshDiaryAsync();
            return Act.Api(world.Office, Post, "/api/v1/lessons", new { pupilId = pupil.Id, instructorId = instructor.Id, start = DiaryApi.Text(Thursday10), minutes = 60 }, etag: null);
        }),
        new("MoveLesson", async world => Act.Api(world.Office, Post, $"{await LessonAsync(world)}/move", new { start = DiaryApi.Text(Thursday14) })),
        new("ChangeLessonKind", async world => Act.Api(world.Office, Post, $"{await LessonAsync(world)}/kind", new { kind = "mock", minutes = 90 })),
        new("PlanHalt", async world =>
        {
            await LessonAsync(world);
            return Act.Api(world.Office, Post, "/api/v1/halts", Snow, etag: null);
        }),
        new("PlanHandOver", async world =>
        {
            var (pupil, instructor) = await world.FreshDiaryAsync();
            await world.LessonAsync(pupil, instructor, Thursday10);
            var to = await world.Data.InstructorAsync($"Piers Anstey {world.Next()}");
            return Act.Api(world.Office, Post, $"/api/v1/pupils/{pupil.Id}/hand-over", new { instructorId = to.Id, from = "2026-03-03" }, etag: null);
        }),
        new("TickHaltCall", async world =>
        {
            var (pupil, instructor) = await world.FreshDiaryAsync();
            await world.LessonAsync(pupil, instructor, Thursday10);
            await world.SqlAsync($"UPDATE pupils.pupils SET email = '' WHERE id = '{pupil.Id}'");
            var halt = (await (await world.Office.SendJsonAsync(Post, "/api/v1/halts", Snow)).JsonAsync(System.Net.HttpStatusCode.Created)).Id();
            await (await world.Office.SendJsonAsync(Post, $"/api/v1/halts/{halt}/apply")).JsonAsync();
            return Act.Api(world.Office, Post, $"/api/v1/halts/{halt}/calls", new { pupilId = pupil.Id }, etag: null);
        }),
        new("OpenHaltNumbers", async world =>
        {
            // Last week's halt, of a pupil who learns with somebody else by now: the instructor sees them by name.
            var (pupil, instructor) = await world.FreshDiaryAsync();
            await world.LessonAsync(pupil, instructor, Thursday10);
            var own = await world.ApiAsAsync(instructor);
            var halt = (await (await own.SendJsonAsync(Post, "/api/v1/halts", Snow)).JsonAsync(System.Net.HttpStatusCode.Created)).Id();
            await (await own.SendJsonAsync(Post, $"/api/v1/halts/{halt}/apply")).JsonAsync();
            var other = await world.InstructorAsync();
            await world.SqlAsync(
                $"""
                 UPDATE pupils.pupils SET usual_instructor_id = '{other.Id}' WHERE id = '{pupil.Id}';
                 UPDATE diary.proposals SET more = replace(more, '2026-03-05', '2026-01-08') WHERE id = '{halt}'
                 """);
            return Act.Api(own, Post, $"/api/v1/halts/{halt}/numbers", new { reason = "Nobody could be reached." }, etag: null);
        }),
        new("PlanCourse", async world => Act.Api(world.Office, Post, "/api/v1/courses", Course(await world.FreshDiaryAsync()), etag: null)),
        new("ApplyProposal", async world =>
        {
            var made = await world.Office.SendJsonAsync(Post, "/api/v1/courses", Course(await world.FreshDiaryAsync()));
            return Act.Api(world.Office, Post, $"/api/v1/courses/{(await made.JsonAsync(System.Net.HttpStatusCode.Created)).Id()}/apply", etag: null);
        }),
        new("CancelLesson", async world => Act.Api(world.Office, Post, $"{await LessonAsync(world)}/cancel", new { reason = "pupil" })),
        new("MissLesson", async world => Act.Api(world.Office, Post, $"{await PastLessonAsync(world)}/missed", new { })),
        new("AddHours", async world =>
        {
            var (_, instructor) = await world.FreshDiaryAsync();
            return Act.Api(world.Office, Post, $"{Url(instructor)}/working-hours", Evening, etag: null);
        }),
        new("ChangeHours", async world => Act.Api(
            world.Office, Put, await AddedAsync(world, "working-hours", Evening), new { day = "monday", start = "19:00", end = "21:30", from = "2026-03-02" })),
        new("RemoveHours", async world => Act.Api(world.Office, Delete, await AddedAsync(world, "working-hours", Evening))),
        new("AddTimeOff", async world =>
        {
            var (_, instructor) = await world.FreshDiaryAsync();
            return Act.Api(world.Office, Post, $"{Url(instructor)}/time-off", Off, etag: null);
        }),
        new("ChangeTimeOff", async world => Act.Api(
            world.Office, Put, await AddedAsync(world, "time-off", Off), new { start = "2026-03-10T09:00:00Z", end = "2026-03-11T09:00:00Z", reason = "course, longer" })),
        new("RemoveTimeOff", async world => Act.Api(world.Office, Delete, await AddedAsync(world, "time-off", Off))),
        new("KeepSupervision", async world => Act.Api(world.Office, Put, await SupervisedAsync(world, null), SatIn(world.Next()))),
        new("RemoveSupervision", async world => Act.Api(world.Office, Delete, await SupervisedAsync(world, SatIn(world.Next())))),
        new("AddHoliday", world => Task.FromResult(Act.Api(world.Office, Post, "/api/v1/holidays", Fair(world.Next()), etag: null))),
        new("RemoveHoliday", async world =>
        {
            var added = await (await world.Office.SendJsonAsync(Post, "/api/v1/holidays", Fair(world.Next()))).JsonAsync(System.Net.HttpStatusCode.Created);
            return Act.Api(world.Office, Delete, $"/api/v1/holidays/{added.Word("nation")}/{added.Word("date")}");
        }),
        new("SaveDiarySettings", world => Act.ChangeNumberAsync(world, "/api/v1/diary/settings", "horizonDays")),
        new("SaveLessonKinds", world => Task.FromResult(Act.Api(
            world.Office, Put, "/api/v1/lesson-kinds", new { items = new[] { Diary.Settings.KindsTests.Kind("mock", $"Mock {world.Next()}") } }))),
        new("EnterTestDay", async world =>
        {
            var (pupil, instructor) = await world.FreshDiaryAsync();
            return Act.Api(world.Office, Post, TestDayApi.Path, TestDayApi.Body(pupil.Id, Thursday10, ("instructorId", instructor.Id)), etag: null);
        }),
        new("ChangeTestDay", async world =>
        {
            var (pupil, id) = await TestAsync(world);
            return Act.Api(world.Office, Put, $"{TestDayApi.Path}/{id}", TestDayApi.Body(pupil, Thursday14));
        }),
        new("TakeOffTestDay", async world => Act.Api(world.Office, Delete, $"{TestDayApi.Path}/{(await TestAsync(world)).Id}")),
        new("RecordTestResult", async world =>
        {
            var id = (await TestAsync(world)).Id;
            await world.SqlAsync("UPDATE diary.test_days SET starts_at = starts_at - interval '6 days', ends_at = ends_at - interval '6 days', blocked_from = blocked_from - interval '6 days', blocked_until = blocked_until - interval '6 days'");
            return Act.Api(world.Office, Put, $"{TestDayApi.Path}/{id}/result", new { passed = true, driving = 3, serious = 0, dangerous = 0, etaVerbal = 1 });
        }),
        new("SaveTestDaySettings", world => Act.ChangeNumberAsync(world, $"{TestDayApi.Path}/settings", "leadMinutes")),
        new("ChangeWeekly", async world =>
        {
            var (pupil, instructor) = await world.FreshDiaryAsync();
            return Act.Api(world.Office, Post, "/api/v1/weekly-lessons", Weekly(pupil.Id, instructor.Id), etag: null);
        }),
        new("ChangeWeekly", async world => Act.Api(
            world.Office, Post, $"{await WeeklyAsync(world)}/following/move", new { start = DiaryApi.Text(Thursday14) }, etag: null)),
        new("ChangeWeekly.ProposeAsync", async world =>
        {
            var (pupil, instructor) = await world.FreshDiaryAsync();
            var book = new { pupilId = pupil.Id, instructorId = instructor.Id, start = DiaryApi.Text(Thursday10), minutes = 60, weeks = 2 };
            return Act.Api(world.Office, Post, "/api/v1/weekly", new { book }, etag: null);
        }),
        new("ChangeWeekly", async world => Act.Api(world.Office, Post, $"{await WeeklyAsync(world)}/following/cancel", new { reason = "pupil" }, etag: null)),
    ];

    public static object Evening => new { day = "monday", start = "18:30", end = "21:00", from = "2026-03-02" };

    private static object Course((Modules.Pupils.Pupil Pupil, Instructor Instructor) diary) =>
        new { pupilId = diary.Pupil.Id, instructorId = diary.Instructor.Id, minutes = 480, from = "2026-03-09", to = "2026-03-13" };

    private static object Off => new { start = "2026-03-10T09:00:00Z", end = "2026-03-10T12:00:00Z", reason = "course" };

    public static string Url(Instructor instructor) => $"/api/v1/instructors/{instructor.Id}";

    private static object Fair(int n) => new { nation = "scotland", date = DiaryApi.Text(new LocalDate(2031, 7, 1).PlusDays(n)), name = "Larkfield fair" };

    private static async Task<string> LessonAsync(World world)
    {
        var (pupil, instructor) = await world.FreshDiaryAsync();
        return $"/api/v1/lessons/{await world.LessonAsync(pupil, instructor, Thursday10)}";
    }

    private static async Task<string> PastLessonAsync(World world)
    {
        var (pupil, instructor) = await world.FreshDiaryAsync();
        return $"/api/v1/lessons/{await world.PastLessonAsync(pupil, instructor)}";
    }

    private static async Task<(Guid Pupil, Guid Id)> TestAsync(World world)
    {
        var (pupil, _) = await world.FreshDiaryAsync();
        return (pupil.Id, (await world.Office.EnteredAsync(pupil.Id, Thursday10)).Id());
    }

    private static async Task<string> AddedAsync(World world, string what, object body)
    {
        var url = $"{Url((await world.FreshDiaryAsync()).Instructor)}/{what}";
        return $"{url}/{(await (await world.Office.SendJsonAsync(Post, url, body)).JsonAsync(System.Net.HttpStatusCode.Created)).Id()}";
    }

    private static object Weekly(Guid pupil, Guid instructor) =>
        new { pupilId = pupil, instructorId = instructor, starts = new[] { DiaryApi.Text(Thursday10), DiaryApi.Text(Thursday10 + Duration.FromDays(7)) }, minutes = 60 };

    private static async Task<string> WeeklyAsync(World world)
    {
        var (pupil, instructor) = await world.FreshDiaryAsync();
        await (await world.Office.SendJsonAsync(Post, "/api/v1/weekly-lessons", Weekly(pupil.Id, instructor.Id))).JsonAsync(System.Net.HttpStatusCode.Created);
        var lessons = await world.Office.GetJsonAsync($"/api/v1/lessons?from=2026-03-01&to=2026-04-01&pupilId={pupil.Id}");
        return $"/api/v1/lessons/{lessons.GetProperty("items")[0].Id()}";
    }

    private static object SatIn(int n) => new { minutes = 30, byName = $"Bram Holt {n}", byNumber = "482915" };

    /// <summary>The day of a lesson that a trainee has given, with who sat in where it is told.</summary>
    private static async Task<string> SupervisedAsync(World world, object? satIn)
    {
        var (pupil, instructor) = await world.FreshDiaryAsync();
        await world.PastLessonAsync(pupil, instructor);
        await world.SqlAsync(
            $"UPDATE people.instructors SET registration = 'Trainee', registered_from = '2026-01-01', registered_to = '2026-06-30', trainee_option = 'Supervision' WHERE id = '{instructor.Id}'");
        var day = await world.Host.WithDbAsync(db => Task.FromResult(db.Set<Modules.Diary.Lessons.Lesson>().First(l => l.InstructorId == instructor.Id).StartsAt.InZone(SchoolHost.London).Date));
        var url = $"{Url(instructor)}/supervision/{day:uuuu-MM-dd}";
        if (satIn is not null)
        {
            await (await world.Office.SendJsonAsync(Put, url, satIn, etag: "*")).JsonAsync();
        }

        return url;
    }
}
