using System.Net;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using Npgsql;
using School.Tests;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Tests.Host;
using static School.Web.Tests.Diary.Events.LiveSchool;

namespace School.Web.Tests.Diary.Events;

/// <summary>Who is told of which changes, and of what about them.</summary>
public sealed class LiveEventsTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_booking_is_told_to_the_office_and_to_its_instructor_and_to_no_other()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        var other = await school.Host.Data.InstructorAsync("Alder Fenwick");
        using var stranger = await school.Host.ApiAsAsync(await school.Host.Data.PersonAsync(other));
        await using var office = await LiveReader.OpenAsync(school.Office);
        await using var own = await LiveReader.OpenAsync(school.Instructor);
        await using var foreign = await LiveReader.OpenAsync(stranger);

        var lesson = await school.Office.BookedAsync(school.PupilId, school.InstructorId, Thursday10);
        await school.Host.ChangeSchoolAsync();

        var told = await office.UntilAsync(OfSchool);
        Assert.Equal(
            [("change", "car", (Guid?)lesson.Id("carId"), "2026-03-05"), ("change", "instructor", school.InstructorId, "2026-03-05"), ("change", "school", null, null)],
            told.Select(one => (one.Event, one.Kind, one.Id, one.Day)).Order());
        Assert.All(told, one => Assert.True(one.Version > 0));
        Assert.Equal(["instructor", "school"], (await own.UntilAsync(OfSchool)).Select(one => one.Kind));
        Assert.Equal(["school"], (await foreign.UntilAsync(OfSchool)).Select(one => one.Kind));
    }

    [Fact]
    public async Task Nothing_of_a_pupil_stands_in_what_an_instructor_is_told()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await using var office = await LiveReader.OpenAsync(school.Office);
        await using var own = await LiveReader.OpenAsync(school.Instructor);
        var lesson = (await school.Pupil.BookedAsync(school.PupilId, school.InstructorId, Thursday10)).Id();
        Assert.True((await school.Office.MoveAsync(lesson, Thursday10 + Duration.FromHours(2))).IsSuccessStatusCode);
        Assert.True((await school.Pupil.CancelAsync(lesson)).IsSuccessStatusCode);
        // A test day takes up the pupil too: their day is the office's to know.
        await school.Host.SqlAsync("UPDATE pupils.pupils SET phone = phone");
        await school.Host.SqlAsync($"SELECT diary.raise_day_versions('pupil', '{school.PupilId}', '2026-03-06 09:00Z', '2026-03-06 10:00Z')");
        await school.Host.ChangeSchoolAsync();

        Assert.Contains((await office.UntilAsync(OfSchool)).Select(one => one.Kind), kind => kind == "pupil");
        Assert.Equal(["instructor", "pupils", "school"], (await own.UntilAsync(OfSchool)).Select(one => one.Kind).Distinct().Order());
        foreach (var secret in new[] { $"{school.PupilId}", $"{lesson}", "Tamsin", "Mill Lane", "larkfield" })
        {
            Assert.DoesNotContain(own.Told, data => data.Contains(secret, StringComparison.OrdinalIgnoreCase));
        }

        Assert.DoesNotContain(office.Told, data => data.Contains("Tamsin", StringComparison.Ordinal) || data.Contains($"{lesson}", StringComparison.Ordinal));
    }

    [Fact]
    public async Task A_booking_that_is_rolled_back_is_told_to_nobody()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await using var office = await LiveReader.OpenAsync(school.Office);
        var host = school.Host;
        await host.WithDbAsync(async db =>
        {
            await using var transaction = await db.Database.BeginTransactionAsync();
            var pupil = await db.Set<Modules.Pupils.Pupil>().AsNoTracking().SingleAsync();
            var car = await db.Set<Modules.Cars.Car>().AsNoTracking().FirstAsync();
            db.Add(Lesson.Book(pupil.Id, school.InstructorId, car.Id, new(Thursday10, Thursday10 + Duration.FromHours(1)), pupil.PickUp, pupil.PickUp, host.Clock.GetCurrentInstant()));
            await db.SaveChangesAsync();
            // As at COMMIT: what is deferred runs, and only then it comes to nothing.
            await db.Database.ExecuteSqlAsync($"SET CONSTRAINTS ALL IMMEDIATE");
            await transaction.RollbackAsync();
            return true;
        });
        // One that a rule refuses comes to nothing as well.
        Assert.Equal(HttpStatusCode.UnprocessableEntity, (await school.Office.BookAsync(school.PupilId, school.InstructorId, DiaryApi.London(2026, 3, 5, 3))).StatusCode);
        await host.ChangeSchoolAsync();

        Assert.Equal(["school"], (await office.UntilAsync(OfSchool)).Select(one => one.Kind));
    }

    [Fact]
    public async Task A_lesson_over_midnight_changes_both_its_days()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await using var own = await LiveReader.OpenAsync(school.Instructor);
        await school.Host.SqlAsync($"SELECT diary.raise_day_versions('instructor', '{school.InstructorId}', '2026-03-06 23:30Z', '2026-03-07 00:30Z')");
        await school.Host.ChangeSchoolAsync();
        Assert.Equal(["2026-03-06", "2026-03-07", null], (await own.UntilAsync(OfSchool)).Select(one => one.Day));
    }

    [Fact]
    public async Task Pupils_who_stands_beside_them_and_whoever_is_not_signed_in_have_no_stream()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var beside = await school.Host.ApiAsAsync(await school.Host.Data.BesideAsync("Rowan Oakley", (school.PupilId, Enum.GetValues<SeenOfPupil>())));
        foreach (var api in new[] { school.Pupil, beside })
        {
            using var refused = await api.GetAsync("/api/v1/events");
            Assert.Equal("not_allowed", await refused.CodeAsync(HttpStatusCode.Forbidden));
        }

        // A browser whose session has ended is refused as a program is, and led nowhere.
        foreach (var client in new[] { school.Host.Anonymous(), school.Host.Browser() })
        {
            using var refused = await client.GetAsync("/api/v1/events");
            Assert.Equal("not_signed_in", await refused.CodeAsync(HttpStatusCode.Unauthorized));
            Assert.Equal("Bearer", refused.Headers.WwwAuthenticate.ToString());
        }

        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.PersonAsync(await school.Host.Data.PupilAsync("Bryony Vale")));
        using var forbidden = await pages.GetAsync("/api/v1/events");
        Assert.Equal("not_allowed", await forbidden.CodeAsync(HttpStatusCode.Forbidden));
    }

    [Fact]
    public async Task A_page_reads_with_its_cookie_and_nothing_else_of_the_API_takes_one()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var pages = await school.Host.PagesAsAsync(await school.Host.Data.OfficeAsync());
        await using var stream = await LiveReader.OpenAsync(pages);
        await school.Host.ChangeSchoolAsync();
        Assert.Equal("school", (await stream.NextAsync()).Kind);
        Assert.Equal("text/event-stream", stream.Answer.Content.Headers.ContentType!.ToString());
        Assert.True(stream.Answer.Headers.CacheControl!.NoStore);
        Assert.Equal(["no"], stream.Answer.Headers.GetValues("X-Accel-Buffering"));
        using var other = await pages.GetAsync("/api/v1/me");
        Assert.Equal(HttpStatusCode.Unauthorized, other.StatusCode);
    }

    [Fact]
    public async Task HEAD_tells_what_would_come_and_opens_no_stream()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        using var head = await school.Office.SendAsync(new HttpRequestMessage(HttpMethod.Head, "/api/v1/events"));
        Assert.Equal(HttpStatusCode.OK, head.StatusCode);
        Assert.Equal("text/event-stream", head.Content.Headers.ContentType!.ToString());
        Assert.Null(head.Headers.ETag);
        Assert.Equal(0, school.Host.Live().Streams);
    }

    [Fact]
    public async Task The_service_tells_and_listens_with_the_rights_of_its_role_and_on_one_connection()
    {
        await using var school = await SmallSchool.StartAsync(postgres);
        await using var first = await LiveReader.OpenAsync(school.Office);
        await using var second = await LiveReader.OpenAsync(school.Instructor);
        var service = new NpgsqlConnectionStringBuilder(school.Host.ServiceConnectionString).Username;
        Assert.Equal(
            $"1 of {service}",
            await school.Host.AskAsync<string>("SELECT count(*) || ' of ' || min(usename) FROM pg_stat_activity WHERE datname = current_database() AND application_name = 'School, changes of days'"));
    }
}
