using System.Net;
using NodaTime;
using School.Web.Tests.Accounts;
using School.Web.Tests.Diary;
using static System.Net.Http.HttpMethod;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Clashes;

internal static class AccountRecipes
{
    public static IEnumerable<Recipe> All =>
    [
        new("OpenBooks", async world =>
        {
            await ClosedAsync(world);
            return Act.Api(world.Office, Post, "/api/v1/books", new { pencePerHour = 36_00 }, etag: null);
        }),
        new("AddPrice", async world =>
        {
            await OpenAsync(world);
            return Act.Api(world.Office, Post, "/api/v1/prices", new { pence = 38_00 + world.Next() }, etag: null);
        }),
        new("ChangeFees", async world =>
        {
            await OpenAsync(world);
            return Act.Api(world.Office, Post, "/api/v1/fees", new { latePercent = 50 }, etag: null);
        }),
        new("SellBlock", async world =>
        {
            await OpenAsync(world);
            return Act.Api(world.Office, Post, $"{Url((await world.PupilAsync()).Id)}/blocks", new { minutes = 600, pence = 340_00 }, etag: null);
        }),
        new("GiveBackBlock", async world =>
        {
            await OpenAsync(world);
            var pupil = (await world.PupilAsync()).Id;
            var block = await world.Office.SellAsync(pupil, 600, 340_00);
            return Act.Api(world.Office, Post, $"{Url(pupil)}/blocks/{block}/give-back", new { pence = 340_00 }, etag: null);
        }),
        new("TakePayment", async world =>
        {
            await OpenAsync(world);
            return Act.Api(world.Office, Post, "/api/v1/payments", new { pupilId = (await world.PupilAsync()).Id, pence = 36_00, method = "card" }, etag: null);
        }),
        new("TellDue", async world =>
        {
            await OpenAsync(world);
            var pupil = (await world.PupilAsync()).Id;
            await world.Office.SellAsync(pupil, 60, 36_00);
            return Act.Api(world.Office, Post, $"{Url(pupil)}/due", new { }, etag: null);
        }),
        new("WriteOff", async world =>
        {
            await OpenAsync(world);
            var pupil = (await world.PupilAsync()).Id;
            await world.Office.SellAsync(pupil, 60, 36_00);
            return Act.Api(world.Office, Post, $"{Url(pupil)}/write-offs", new { pence = 6_00, reason = "Moved away." }, etag: null);
        }),
        new("HandInCash", async world =>
        {
            await OpenAsync(world);
            return Act.Api(world.Office, Post, "/api/v1/cash", new { instructorId = (await world.InstructorAsync()).Id, pence = 5_00 }, etag: null);
        }),
        new("WriteTerms", world => Task.FromResult(Act.Api(world.Office, Post, "/api/v1/terms", new { text = $"Terms {world.Next()}.", namesFees = true }, etag: null))),
        new("AcceptTerms", async world => Act.Api(world.Office, Post, $"{Url((await world.PupilAsync()).Id)}/terms", new { number = await TermsAsync(world) }, etag: null)),
        new("WaiveFee", async world =>
        {
            await OpenAsync(world);
            var (pupil, instructor) = await world.FreshDiaryAsync();
            await world.CarAsync(instructor.Id);
            (await world.Office.SendJsonAsync(Post, $"{Url(pupil.Id)}/terms", new { number = await TermsAsync(world) })).EnsureSuccessStatusCode();
            var now = world.Host.Clock.GetCurrentInstant();
            var lesson = (await world.Office.BookedAsync(pupil.Id, instructor.Id, London(2026, 3, 5, 10))).Id();
            world.Host.Clock.Reset(London(2026, 3, 5, 11));
            (await world.Office.SendJsonAsync(Post, $"/api/v1/lessons/{lesson}/missed", new { })).EnsureSuccessStatusCode();
            world.Host.Clock.Reset(now);
            var fee = (await world.Office.AccountAsync(pupil.Id)).GetProperty("fees")[0].Id();
            return Act.Api(world.Office, Post, $"{Url(pupil.Id)}/fees/{fee}/waive", new { reason = "A funeral." });
        }),
    ];

    private static string Url(Guid pupil) => $"/api/v1/pupils/{pupil}";

    private static Task ClosedAsync(World world) => world.SqlAsync("TRUNCATE accounts.books CASCADE");

    private static async Task OpenAsync(World world)
    {
        await ClosedAsync(world);
        await world.Office.OpenBooksAsync();
    }

    private static async Task<int> TermsAsync(World world) =>
        (await (await world.Office.SendJsonAsync(Post, "/api/v1/terms", new { text = "Late lessons are charged.", namesFees = true })).JsonAsync(HttpStatusCode.Created))
        .GetProperty("number").GetInt32();
}
