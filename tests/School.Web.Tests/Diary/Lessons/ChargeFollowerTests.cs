using System.Net;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using Npgsql;
using School.Tests;
using School.Web.Modules.Diary.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.DiaryApi;

namespace School.Web.Tests.Diary.Lessons;

/// <summary>Whoever follows the charges hears of each once, in the transaction of the change, whichever way it is made.</summary>
public sealed class ChargeFollowerTests(TestPostgres postgres)
{
    private static readonly Instant Thursday10 = London(2026, 3, 5, 10);

    [Fact]
    public async Task Every_way_of_changing_a_lesson_tells_its_charge_once()
    {
        await using var school = await StartAsync();
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        await (await school.Pupil.MoveAsync(id, London(2026, 3, 6, 14))).JsonAsync();
        Assert.Equal([$"{id} Move FreeInTime False"], await ToldAsync(school));
        await (await school.Office.CancelAsync(id, "weather")).JsonAsync();
        Assert.Equal([$"{id} Cancel FreeWeather False"], await ToldAsync(school));

        var other = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        school.Host.Clock.Reset(Thursday10 + Duration.FromMinutes(45));
        await (await school.Instructor.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{other}/missed", new { })).JsonAsync();
        Assert.Equal([$"{other} Missed Missed True"], await ToldAsync(school));
        await (await school.Instructor.RecordAsync(other, 40, "There after all.")).JsonAsync();
        Assert.Equal([$"{other} taken back", $"{other} taught 40"], await ToldAsync(school));
        await (await school.Instructor.RecordAsync(other, 41, "There after all.")).JsonAsync();
        Assert.Equal([$"{other} taught 41"], await ToldAsync(school));
    }

    [Fact]
    public async Task Several_at_once_are_told_one_by_one()
    {
        await using var school = await StartAsync();
        var weekly = await (await school.Pupil.SendJsonAsync(HttpMethod.Post, "/api/v1/weekly-lessons", new
        {
            pupilId = school.PupilId,
            instructorId = school.InstructorId,
            starts = new[] { Text(Thursday10), Text(London(2026, 3, 12, 10)) },
            minutes = 60,
        })).JsonAsync(HttpStatusCode.Created);
        var ids = weekly.GetProperty("items").EnumerateArray().Select(lesson => lesson.Id()).ToList();
        Assert.Empty(await ToldAsync(school));
        school.Host.Clock.Reset(Thursday10 - Duration.FromHours(3));
        await (await school.Pupil.SendJsonAsync(HttpMethod.Post, $"/api/v1/lessons/{ids[0]}/following/cancel", new { reason = "pupil" })).JsonAsync();
        Assert.Equal([$"{ids[0]} Cancel Late True", $"{ids[1]} Cancel FreeInTime False"], await ToldAsync(school));
    }

    [Fact]
    public async Task What_is_refused_is_not_told_and_what_a_follower_cannot_take_is_not_done()
    {
        await using var school = await StartAsync();
        var id = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        Assert.Equal("charge_changed", await (await school.Pupil.SendJsonAsync(
            HttpMethod.Post, $"/api/v1/lessons/{id}/cancel", new { reason = "pupil", charge = "late" })).CodeAsync(HttpStatusCode.UnprocessableEntity));
        Assert.Empty(await ToldAsync(school));

        var messages = (await school.MessagesAsync(id)).Count;
        await AsOwnerAsync(school, "ALTER TABLE follower.told ADD CONSTRAINT no_more CHECK (false) NOT VALID");
        Assert.Equal(HttpStatusCode.InternalServerError, (await school.Pupil.CancelAsync(id)).StatusCode);
        Assert.Equal("booked", (await school.Office.GetJsonAsync($"/api/v1/lessons/{id}")).Word("state"));
        Assert.Equal(messages, (await school.MessagesAsync(id)).Count);
    }

    private async Task<SmallSchool> StartAsync()
    {
        var school = await SmallSchool.OnAsync(await SchoolHost.StartWithAsync(postgres, services => services.AddScoped<ILessonCharges, Follower>()));
        await AsOwnerAsync(school, """
            CREATE SCHEMA follower;
            CREATE TABLE follower.told (place serial, words text);
            GRANT USAGE ON SCHEMA follower TO PUBLIC;
            GRANT ALL ON ALL TABLES IN SCHEMA follower TO PUBLIC;
            GRANT ALL ON ALL SEQUENCES IN SCHEMA follower TO PUBLIC;
            """);
        return school;
    }

    /// <summary>The service itself makes no tables.</summary>
    private static async Task AsOwnerAsync(SmallSchool school, string sql)
    {
        await using var source = NpgsqlDataSource.Create(school.Host.ConnectionString);
        await using var command = source.CreateCommand(sql);
        await command.ExecuteNonQueryAsync();
    }

    /// <summary>What was told since the last time.</summary>
    private static Task<List<string>> ToldAsync(SmallSchool school) => school.Host.WithDbAsync(async db =>
    {
        var told = await db.Database.SqlQuery<string>($"SELECT words AS \"Value\" FROM follower.told ORDER BY place").ToListAsync();
        await db.Database.ExecuteSqlAsync($"DELETE FROM follower.told");
        return told;
    });

    private sealed class Follower(SchoolDb db) : ILessonCharges
    {
        public async Task<bool?> DecidedAsync(DecidedCharge decided, Viewer viewer, CancellationToken cancel)
        {
            await TellAsync($"{decided.LessonId} {decided.Charge.Act} {decided.Charge.Code} {decided.Charge.Chargeable}", cancel);
            return null;
        }

        public Task TakenBackAsync(Guid lessonId, Viewer viewer, CancellationToken cancel) => TellAsync($"{lessonId} taken back", cancel);

        public Task TaughtAsync(LessonToCharge lesson, Viewer viewer, CancellationToken cancel) => TellAsync($"{lesson.LessonId} taught {lesson.Minutes}", cancel);

        public Task<ChargeAmount?> AmountAsync(DecidedCharge decided, Viewer viewer, CancellationToken cancel) => Task.FromResult<ChargeAmount?>(null);

        private Task<int> TellAsync(string words, CancellationToken cancel) => db.Database.ExecuteSqlAsync($"INSERT INTO follower.told (words) VALUES ({words})", cancel);
    }
}
