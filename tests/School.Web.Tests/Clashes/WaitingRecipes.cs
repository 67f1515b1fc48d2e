using System.Net;
using NodaTime;
using School.Web.Modules.Diary.Cars;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.Pupils;
using School.Web.Platform.Access;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;

namespace School.Web.Tests.Clashes;

/// <summary>Those that many lessons or people have a part in: the waiting list, cover, cars given out, the order and the delays of a day.</summary>
internal static class WaitingRecipes
{
    private const string List = "/api/v1/waiting-list";
    private static readonly Instant Thursday10 = DiaryApi.London(2026, 3, 5, 10);

    public static IEnumerable<Recipe> All =>
    [
        new("JoinWaitingList", async world => Act.Api(world.Office, Post, List, Wish((await world.FreshDiaryAsync()).Pupil), etag: null)),
        new("LeaveWaitingList", async world => Act.Api(world.Office, Delete, await WaitingAsync(world))),
        new("ChangeWaiting", async world =>
        {
            var url = await WaitingAsync(world);
            return Act.Api(world.Office, Put, url, new { @for = "anyLesson", from = "2026-03-03", to = "2026-03-07" });
        }),
        new("SaveWaitingSettings", world => Act.ChangeNumberAsync(world, "/api/v1/waiting-settings", "heldMinutes")),
        new("OfferFreedSlots (job)", async world =>
        {
            await FreedAsync(world);
            return Act.Job<OfferFreedSlots>(world.Host, job => job.RunAsync(default));
        }),
        new("AcceptOffer", async world => Act.Api(world.Office, Post, $"{await OfferAsync(world)}/accept", etag: null)),
        new("DeclineOffer", async world => Act.Api(world.Office, Post, $"{await OfferAsync(world)}/decline", etag: null)),
        new("PlanCover", async world => Act.Api(world.Office, Post, "/api/v1/covers", await AbsenceAsync(world), etag: null)),
        new("MakeProposal", async world =>
        {
            var day = (await WastefulDayAsync(world)).Split('/');
            return Act.Api(world.Office, Post, "/api/v1/better-orders", new { instructorId = day[4], date = day[6] }, etag: null);
        }),
        new("ApplyProposal", async world => Act.Api(world.Office, Post, $"{await CoverAsync(world)}/apply", etag: null)),
        new("DropProposal", async world => Act.Api(world.Office, Delete, await CoverAsync(world), etag: null)),
        new("WorkOutProposals (job)", async world =>
        {
            var id = Guid.Parse((await CoverAsync(world)).Split('/')[^1]);
            await world.SqlAsync("UPDATE diary.proposals SET state = 'Working', lines = NULL");
            return Act.Job<WorkOutProposals>(world.Host, job => job.RunAsync(id, default));
        }),
        new("PlanSwap", async world => Act.Api(world.Office, Post, "/api/v1/swaps", await SwapAsync(world), etag: null)),
        new("AcceptSwap", async world =>
        {
            var (swap, lesson) = await SwapHalfAgreedAsync(world);
            return Act.Api(world.Office, Post, $"{swap}/accept", new { lessonId = lesson }, etag: null);
        }),
        new("ApplyProposal", async world => Act.Api(world.Office, Post, $"{(await SwapHalfAgreedAsync(world)).Url}/apply", new { asked = true }, etag: null)),
        new("DropProposal", async world => Act.Api(world.Office, Delete, (await SwapHalfAgreedAsync(world)).Url, etag: null)),
        new("DeclineSwap", async world =>
        {
            var (swap, lesson) = await SwapHalfAgreedAsync(world);
            return Act.Api(world.Office, Post, $"{swap}/decline", new { lessonId = lesson }, etag: null);
        }),
        new("LapseSwaps (job)", async world =>
        {
            await SwapHalfAgreedAsync(world);
            await world.SqlAsync("UPDATE diary.swap_answers SET lapses_at = '2026-03-01' WHERE open");
            return Act.Job<Modules.Diary.Swaps.LapseSwaps>(world.Host, job => job.RunAsync(default));
        }),
        new("GiveOutCars", async world =>
        {
            await AbsenceAsync(world);
            await world.SqlAsync("UPDATE cars.holdings SET \"to\" = '2026-03-01' WHERE \"to\" IS NULL");
            var seen = await world.ServiceAsync<GiveOutCars, string>(async give => (await give.LookAsync(TuesdayAlone, default)).Value!.Seen);
            return Act.Verb<GiveOutCars, Proposal>(world.Host, give => give.RunAsync(Viewer.Service, new(TuesdayAlone, seen), default));
        }),
        new("GiveOutCars.ProposeAsync", async world =>
        {
            await AbsenceAsync(world);
            return Act.Api(world.Office, Post, "/api/v1/car-allocations", new { from = "2026-03-03", to = "2026-03-03" }, etag: null);
        }),
        new("OrderDay", async world =>
        {
            var url = await WastefulDayAsync(world);
            using var shown = await world.Office.GetAsync(url);
            return Act.Api(world.Office, Post, url, new { }, shown.Headers.ETag!.Tag);
        }),
        new("TellLateByItself (job)", async world =>
        {
            var (pupil, instructor) = await world.FreshDiaryAsync();
            await world.LessonAsync(pupil, instructor, DiaryApi.London(2026, 3, 2, 8, 15));
            // Far enough that who has not left by then is late.
            await world.SqlAsync($"UPDATE diary.lessons SET pick_up_latitude = pick_up_latitude + 0.2 WHERE pupil_id = '{pupil.Id}'");
            await world.SqlAsync("UPDATE diary.settings SET tells_late = 'Always'");
            return Act.At(world, DiaryApi.London(2026, 3, 2, 8, 14), Act.Job<TellLateByItself>(world.Host, job => job.RunAsync(default)));
        }),
        new("TellLate", async world =>
        {
            var (pupil, instructor) = await world.FreshDiaryAsync();
            await world.LessonAsync(pupil, instructor, DiaryApi.London(2026, 3, 2, 8, 15));
            return Act.Api(world.Office, Post, $"{DiaryRecipes.Url(instructor)}/day/2026-03-02/late", new { minutes = 40, confirm = true }, etag: null);
        }),
    ];

    private static readonly AllocationPeriod TuesdayAlone = new(new(2026, 3, 3), new(2026, 3, 3));

    private static object Wish(Pupil pupil) => new { pupilId = pupil.Id, @for = "anyLesson", from = "2026-03-02", to = "2026-03-08" };

    private static async Task<string> WaitingAsync(World world) =>
        $"{List}/{(await (await world.Office.SendJsonAsync(Post, List, Wish((await world.FreshDiaryAsync()).Pupil))).JsonAsync(HttpStatusCode.Created)).Id()}";

    /// <summary>A lesson that was cancelled, and somebody who waits for such a time.</summary>
    private static async Task FreedAsync(World world)
    {
        var (pupil, instructor) = await world.FreshDiaryAsync();
        var lesson = await world.LessonAsync(pupil, instructor, Thursday10);
        await (await world.Office.SendJsonAsync(Post, List, Wish(await world.PupilAsync()))).JsonAsync(HttpStatusCode.Created);
        await (await world.Office.CancelAsync(lesson)).JsonAsync();
    }

    private static async Task<string> OfferAsync(World world)
    {
        await FreedAsync(world);
        await world.ServiceAsync<OfferFreedSlots, int>(async job =>
        {
            await job.RunAsync(default);
            return 0;
        });
        var offers = await world.Office.GetJsonAsync("/api/v1/offers");
        return $"/api/v1/offers/{offers.GetProperty("items").EnumerateArray().First(o => o.Word("state") == "open").Id()}";
    }

    /// <summary>Two who teach, one with a lesson on Tuesday at ten, and the period in which that one is away.</summary>
    private static async Task<object> AbsenceAsync(World world)
    {
        var (pupil, instructor) = await world.FreshDiaryAsync();
        await world.InstructorAsync();
        await world.LessonAsync(pupil, instructor, DiaryApi.London(2026, 3, 3, 10));
        return new { instructorId = instructor.Id, start = DiaryApi.Text(DiaryApi.London(2026, 3, 3, 0)), end = DiaryApi.Text(DiaryApi.London(2026, 3, 3, 23, 59)), mayMoveMinutes = 0 };
    }

    /// <summary>Two lessons of one instructor, which may change places.</summary>
    private static async Task<object> SwapAsync(World world)
    {
        var (pupil, instructor) = await world.FreshDiaryAsync();
        var lesson = await world.LessonAsync(pupil, instructor, Thursday10);
        var other = await world.LessonAsync(await world.PupilAsync(instructor.Id), instructor, DiaryApi.London(2026, 3, 5, 14));
        return new { lessonId = lesson, withLessonId = other };
    }

    /// <summary>A swap to which one pupil has agreed, and the lesson of the other.</summary>
    private static async Task<(string Url, Guid Lesson)> SwapHalfAgreedAsync(World world)
    {
        var swap = await (await world.Office.SendJsonAsync(Post, "/api/v1/swaps", await SwapAsync(world))).JsonAsync(HttpStatusCode.Created);
        var url = $"/api/v1/swaps/{swap.Id()}";
        var lines = swap.GetProperty("lines");
        await (await world.Office.SendJsonAsync(Post, $"{url}/accept", new { lessonId = lines[0].Id("lessonId") })).JsonAsync();
        return (url, lines[1].Id("lessonId"));
    }

    private static async Task<string> CoverAsync(World world) =>
        $"/api/v1/covers/{(await (await world.Office.SendJsonAsync(Post, "/api/v1/covers", await AbsenceAsync(world))).JsonAsync(HttpStatusCode.Created)).Id()}";

    /// <summary>Far, near, and far again, where the last two may change places.</summary>
    private static async Task<string> WastefulDayAsync(World world)
    {
        var (_, instructor) = await world.FreshDiaryAsync();
        var far = TestData.PlaceAt(30, label: "Weir Road");
        var (first, near, last) = (
            await world.Data.PupilAsync("Tamsin Oakley", far), await world.Data.PupilAsync("Bryony Hale", TestData.PlaceAt(2)), await world.Data.PupilAsync("Corin Vale", far));
        await world.LessonAsync(first, instructor, DiaryApi.London(2026, 3, 5, 9));
        await world.LessonAsync(near, instructor, DiaryApi.London(2026, 3, 5, 10, 30));
        await world.LessonAsync(last, instructor, DiaryApi.London(2026, 3, 5, 12));
        foreach (var (pupil, from, to) in new[] { (near, "12:00", "13:00"), (last, "10:30", "11:30") })
        {
            await (await world.Office.SendJsonAsync(
                Put, $"/api/v1/pupils/{pupil.Id}/availability", new { times = new[] { new { day = "thursday", from, to } } }, etag: "*")).JsonAsync();
        }

        return $"{DiaryRecipes.Url(instructor)}/day/2026-03-05/better-order";
    }
}
