using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using Npgsql;
using School.Core.Cars;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Platform.Access;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;

namespace School.Web.Tests.Clashes;

/// <summary>What the recipes have to work with: one host, somebody of the office, and new people and cars for each time.</summary>
internal sealed class World(SchoolHost host, Person officePerson, HttpClient office, HttpClient officePages)
{
    private int _count;

    public SchoolHost Host => host;

    public TestData Data => host.Data;

    public Person OfficePerson => officePerson;

    /// <summary>Who acts where a verb is called by itself.</summary>
    public Viewer Viewer { get; } = new(officePerson.Id, OfficeParts.All, null, null, officePerson.Name);

    public HttpClient Office => office;

    public HttpClient OfficePages => officePages;

    /// <summary>A different number each time, for what must be there once only.</summary>
    public int Next() => ++_count;

    public static async Task<World> OnAsync(SchoolHost host)
    {
        var person = await host.Data.OfficeAsync();
        var world = new World(host, person, await host.ApiAsAsync(person), await host.PagesAsAsync(person));
        // The first use of a token is noted; that is not what is looked at here.
        (await world.Office.GetAsync("/api/v1/tokens")).Dispose();
        // Nor that the count of the pupils' changes begins with the first.
        await world.PupilAsync();
        await world.SqlAsync("UPDATE pupils.pupils SET need = 'Roundabouts'");
        return world;
    }

    /// <summary>An API client whose token has been used before.</summary>
    public async Task<HttpClient> ApiAsAsync(Person person)
    {
        var api = await host.ApiAsAsync(person);
        (await api.GetAsync("/api/v1/tokens")).Dispose();
        return api;
    }

    public async Task<HttpClient> ApiAsAsync(Pupil pupil) => await ApiAsAsync(await Data.PersonAsync(pupil));

    public async Task<HttpClient> ApiAsAsync(Instructor instructor) => await ApiAsAsync(await Data.PersonAsync(instructor));

    /// <summary>An instructor without a car.</summary>
    public Task<Instructor> InstructorAsync() => Data.InstructorAsync($"Marigold Ashby {Next()}");

    public Task<Pupil> PupilAsync(Guid? instructor = null) => Data.PupilAsync($"Tamsin Oakley {Next()}", instructor: instructor);

    public Task<Car> CarAsync(Guid? holder = null) => Data.CarAsync(holder, Gearbox.Manual);

    /// <summary>A new pupil, and a new instructor with a car, in a diary in which nobody else teaches and nothing is booked.</summary>
    public async Task<(Pupil Pupil, Instructor Instructor)> FreshDiaryAsync()
    {
        await SqlAsync(
            """
            TRUNCATE diary.lessons, diary.test_days, diary.time_off, diary.freed_slots, diary.waiting, diary.proposals CASCADE;
            UPDATE messages.messages SET state = 'Withdrawn' WHERE state = 'Waiting';
            UPDATE people.instructors SET retired_on = '2025-01-01';
            UPDATE cars.cars SET retired_on = '2025-01-01'
            """);
        var instructor = await InstructorAsync();
        return (await PupilAsync(instructor.Id), instructor);
    }

    public Task<int> NumberAsync(string sql) => host.WithDbAsync(db => db.Database.SqlQueryRaw<int>(sql).SingleAsync());

    /// <summary>As the owner of the tables: the service may not do all of it.</summary>
    public async Task SqlAsync(string sql)
    {
        await using var connection = new NpgsqlConnection(host.ConnectionString);
        await connection.OpenAsync();
        await using var command = new NpgsqlCommand(sql, connection);
        await command.ExecuteNonQueryAsync();
    }

    /// <summary>A lesson of an hour in that diary, booked as the office books.</summary>
    public async Task<Guid> LessonAsync(Pupil pupil, Instructor instructor, Instant start) => (await office.BookedAsync(pupil.Id, instructor.Id, start)).Id();

    /// <summary>The same, but of yesterday, as it is before anybody has recorded it.</summary>
    public async Task<Guid> PastLessonAsync(Pupil pupil, Instructor instructor)
    {
        var start = host.Clock.GetCurrentInstant() - Duration.FromHours(26);
        var car = await host.WithDbAsync(db => db.Set<Holding>().Where(h => h.InstructorId == instructor.Id).Select(h => h.CarId).FirstAsync());
        var lesson = Lesson.Book(pupil.Id, instructor.Id, car, new(start, start + Duration.FromHours(1)), pupil.PickUp, pupil.PickUp, start - Duration.FromDays(3));
        await host.AddAsync(lesson);
        return lesson.Id;
    }

    public async Task<T> ServiceAsync<TService, T>(Func<TService, Task<T>> use)
        where TService : notnull
    {
        await using var scope = host.Services.CreateAsyncScope();
        return await use(scope.ServiceProvider.GetRequiredService<TService>());
    }
}
