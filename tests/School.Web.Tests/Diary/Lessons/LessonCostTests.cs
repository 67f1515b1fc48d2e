using System.Net;
using NodaTime;
using School.Tests;
using School.Web.Tests.Diary.Waiting;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Lessons;

/// <summary>
/// What booking, moving, cancelling and accepting an offer cost the database. Others wait for the locks that are held meanwhile, so what is
/// asked goes together, and nothing is asked twice.
/// </summary>
public sealed class LessonCostTests(TestPostgres postgres)
{
    // Who asks is read before the act itself: one statement, and a transaction of its own, which writes nothing.
    private const int SignIn = 1;

    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task A_booking_locks_and_reads_at_once_writes_at_once_and_commits_once()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await WarmAsync(school);
        using var costs = await DatabaseCosts.OnAsync(school.Host);

        Held(SignIn + 3, await costs.OfAsync(() => school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10)));
        Held(SignIn + 3, await costs.OfAsync(() => school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10 + Duration.FromHours(2))));
    }

    [Fact]
    public async Task A_key_adds_one_look_and_one_row()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await WarmAsync(school);
        using var costs = await DatabaseCosts.OnAsync(school.Host);

        Held(SignIn + 5, await costs.OfAsync(() => BookAsync(school.Office, HttpStatusCode.Created)));
        // The same again has its answer from the first of these.
        Held(SignIn + 1, await costs.OfAsync(() => BookAsync(school.Office, HttpStatusCode.Created)), commits: 0);

        async Task BookAsync(HttpClient api, HttpStatusCode status) =>
            await (await api.BookAsync(school.PupilId, school.InstructorId, Thursday10, key: "thursday")).JsonAsync(status);
    }

    [Fact]
    public async Task A_booking_on_the_page_reads_what_the_form_names_and_books()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await WarmAsync(school);
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync("Second Office"));
        var url = $"/diary/book/check?pupil={school.PupilId}&minutes=60&start={Text(Thursday10)}&with={school.InstructorId}";
        var token = await pages.FormTokenAsync(url);
        using var form = new FormUrlEncodedContent(
        [
            new("pupil", $"{school.PupilId}"), new("minutes", "60"), new("start", Text(Thursday10)), new("with", $"{school.InstructorId}"), new("__RequestVerificationToken", token),
        ]);
        using var costs = await DatabaseCosts.OnAsync(school.Host);

        Held(10, await costs.OfAsync(async () => Assert.StartsWith("/diary/lessons/", (await pages.PostAsync("/diary/book/check", form)).Headers.Location?.ToString(), StringComparison.Ordinal)), commits: null);
    }

    [Fact]
    public async Task A_move_and_a_cancellation_look_first_where_the_lesson_is()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var lesson = await WarmAsync(school);
        using var costs = await DatabaseCosts.OnAsync(school.Host);

        // Besides, what waits to be sent is withdrawn.
        Held(SignIn + 5, await costs.OfAsync(async () => await (await school.Pupil.MoveAsync(lesson, Thursday10 + Duration.FromDays(1))).JsonAsync()));
        Held(SignIn + 5, await costs.OfAsync(async () => await (await school.Pupil.CancelAsync(lesson)).JsonAsync()));
    }

    [Fact]
    public async Task An_offer_accepted_is_a_booking_that_looks_at_the_offer_first()
    {
        await using var school = await WaitingSchool.StartAsync(postgres);
        var (pupil, api) = await school.WaiterAsync("Corin Vale");
        using var client = api;
        await school.CancelAsync();
        await school.RoundAsync();
        var offer = (await WaitingSchool.OfferAsync(api)).Id();
        using var costs = await DatabaseCosts.OnAsync(school.Host);

        // Whose offer it is, is a look of its own before the act.
        Held(SignIn + 5, await costs.OfAsync(async () => await (await WaitingSchool.AnswerAsync(api, offer)).JsonAsync()), commits: 2);
    }

    [Fact]
    public async Task A_school_that_was_changed_meanwhile_is_read_anew_under_the_locks()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await WarmAsync(school);
        await school.Host.WithDbAsync(async db =>
        {
            await using var owner = Npgsql.NpgsqlDataSource.Create(school.Host.ConnectionString);
            await using var end = owner.CreateCommand("UPDATE cars.holdings SET \"to\" = '2026-03-04'");
            return await end.ExecuteNonQueryAsync();
        });

        var answer = await school.Office.BookAsync(school.PupilId, school.InstructorId, Thursday10);

        Assert.Equal("no_suitable_car", await answer.CodeAsync(HttpStatusCode.UnprocessableEntity));
    }

    /// <summary>Each token used, the school remembered; gives a lesson a week later.</summary>
    private static async Task<Guid> WarmAsync(SmallSchool school)
    {
        await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10 + Duration.FromDays(4));
        await (await school.Office.BookAsync(school.PupilId, school.InstructorId, Thursday10 + Duration.FromDays(5), key: "warm")).JsonAsync(HttpStatusCode.Created);
        return (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10 + Duration.FromDays(7))).Id();
    }

    private static void Held(int most, DatabaseCost cost, int? commits = 1)
    {
        TestContext.Current.SendDiagnosticMessage($"{cost}");
        Assert.True(cost.Sent.Count <= most, $"at most {most}, but {cost}");
        Assert.True(commits is null || cost.Commits == SignIn + commits, $"{SignIn} + {commits} commits, but {cost}");
        Assert.Empty(cost.Twice);
    }
}
