using System.Net;
using NodaTime;
using School.Core.Travel;
using School.Web.Modules.Messages;
using School.Web.Modules.Records.Retention;
using School.Web.Modules.Travel;
using School.Web.Modules.Travel.Contracts;
using School.Web.Modules.Travel.Routing;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;

namespace School.Web.Tests.Clashes;

internal static class OtherRecipes
{
    private static readonly object Mill = new { label = "Mill Lane", latitude = 52.4, longitude = -1.2 };
    private static readonly object Quarry = new { latitude = 52.43, longitude = -1.24 };

    public static IEnumerable<Recipe> All =>
    [
        new("RecordLeg", async world => Act.Api(world.Office, Post, $"{DiaryRecipes.Url(await world.InstructorAsync())}/legs", Leg, etag: null)),
        new("RemoveLeg", async world =>
        {
            var url = $"{DiaryRecipes.Url(await world.InstructorAsync())}/legs";
            return Act.Api(world.Office, Delete, $"{url}/{(await (await world.Office.SendJsonAsync(Post, url, Leg)).JsonAsync(HttpStatusCode.Created)).Id()}");
        }),
        new("BeginDrive", async world => Begin(world, (await world.InstructorAsync()).Id)),
        new("EndDrive", async world =>
        {
            var id = (await world.InstructorAsync()).Id;
            Assert.True((await Begin(world, id).RunAsync(null)).Done);
            return Act.At(world, world.Host.Clock.GetCurrentInstant() + Duration.FromMinutes(12), Act.Verb<EndDrive, int>(world.Host, end => end.RunAsync(world.Viewer, id, default)));
        }),
        new("ChangeTravelSettings", async world =>
        {
            Assert.True((await Speeds(world, 20).RunAsync(null)).Done);
            return Speeds(world, 21);
        }),
        new("UseTravelFit", async world =>
        {
            Assert.True((await Speeds(world, 20).RunAsync(null)).Done);
            await world.SqlAsync("TRUNCATE travel.legs");
            await DrivesAsync(world, 60, mph: 10);
            return Act.Api(world.Office, Post, "/api/v1/travel/fit");
        }),
        new("ClearOldTravel (job)", async world =>
        {
            await DrivesAsync(world, 1, mph: 10, daysAgo: 2000);
            return Act.Job<ClearOldTravel>(world.Host, job => job.RunAsync(default));
        }),
        new("ClearKept (job)", async world =>
        {
            var job = Act.Job<ClearKept>(world.Host, job => job.RunAsync(default));
            // Twice, so that what the other recipes left is gone before.
            await OldCountAsync(world);
            await job.RunAsync(null);
            await OldCountAsync(world);
            return job;
        }),
        new("ChangeRetention", async world =>
        {
            Assert.True((await Kept(world, 3).RunAsync(null)).Done);
            return Kept(world, 4);
        }),
        new("SendAgain", async world =>
        {
            var letter = Tests.Messages.Post.Reminder(world.Host, 1000 + world.Next());
            letter.State = MessageState.Failed;
            await world.Host.AddAsync(letter);
            return Act.Api(world.Office, Post, $"/api/v1/messages/{letter.Id}/send-again", etag: null);
        }),
        new("SendAllAgain", async world =>
        {
            await world.SqlAsync("UPDATE messages.messages SET state = 'Withdrawn' WHERE state = 'Failed'");
            var letter = Tests.Messages.Post.Reminder(world.Host, 1000 + world.Next());
            letter.State = MessageState.Failed;
            await world.Host.AddAsync(letter);
            return Act.Verb<SendAllAgain, SentAgain>(world.Host, again => again.RunAsync(world.Viewer, default));
        }),
        new("SendDueMessages (job)", async world =>
        {
            await world.SqlAsync("UPDATE messages.messages SET state = 'Withdrawn' WHERE state = 'Waiting'");
            await world.SqlAsync("DELETE FROM messages.letterheads");
            await world.Host.AddAsync(Tests.Messages.Post.Reminder(world.Host, 1000 + world.Next()));
            return Act.Job<SendDueMessages>(world.Host, job => job.RunAsync(default));
        }),
        new("MakeFeed", async world => Act.Api(world.Office, Post, "/api/v1/feeds", new { pupilId = (await world.PupilAsync()).Id, detail = "busy" }, etag: null)),
        new("RevokeFeed", async world =>
        {
            var made = await world.Office.SendJsonAsync(Post, "/api/v1/feeds", new { pupilId = (await world.PupilAsync()).Id, detail = "busy" });
            return Act.Api(world.Office, Delete, $"/api/v1/feeds/{(await made.JsonAsync(HttpStatusCode.Created)).Id()}", etag: null);
        }),
    ];

    private static Act Begin(World world, Guid instructor) => Act.Verb<BeginDrive, DriveUnderWay>(
        world.Host, begin => begin.RunAsync(world.Viewer, instructor, new(TestData.PlaceAt(), TestData.PlaceAt(20)), default));

    private static Act Speeds(World world, int mph)
    {
        var speeds = Enumerable.Repeat(mph, 24).ToArray();
        return Act.Api(world.Office, Put, "/api/v1/travel/settings", new { detourFactor = 1.5, weekdayMph = speeds, saturdayMph = speeds, sundayMph = speeds });
    }

    private static Task OldCountAsync(World world) =>
        world.SqlAsync($"INSERT INTO platform.attempt_counts (key, window_start, count) VALUES ('old {world.Next()}', '2020-01-01', 1)");

    private static Act Kept(World world, int days) =>
        Act.Api(world.Office, Put, "/api/v1/retention", new { periods = new[] { new { code = "kept_answers", days } } });

    private static object Leg => new { from = Mill, to = Quarry, left = "2026-03-02T07:10:00Z", arrived = "2026-03-02T07:24:00Z" };

    private static async Task DrivesAsync(World world, int count, int mph, int daysAgo = 1)
    {
        var (id, now) = ((await world.InstructorAsync()).Id, world.Host.Clock.GetCurrentInstant());
        var usual = new StraightLineTravel(new());
        await world.Host.AddAsync([.. Enumerable.Range(0, count).Select(n =>
        {
            var left = now - Duration.FromDays(daysAgo) - Duration.FromHours(n);
            var (from, to) = (TestData.PlaceAt(), TestData.PlaceAt(10 + (n % 7), n % 5));
            var miles = usual.Between(from.At(), to.At(), left.InZone(SchoolHost.London).LocalDateTime).Miles;
            return (object)new RecordedDrive
            {
                InstructorId = id,
                FromLabel = from.Label,
                FromLatitude = from.Latitude,
                FromLongitude = from.Longitude,
                ToLabel = to.Label,
                ToLatitude = to.Latitude,
                ToLongitude = to.Longitude,
                LeftAt = left,
                ArrivedAt = left + Duration.FromMinutes(miles / mph * 60),
            };
        })]);
    }
}
