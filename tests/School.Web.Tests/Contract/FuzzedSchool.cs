using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.TestDays;
using School.Core.Diary.Time;
using School.Core.Syllabus;
using School.Core.Syllabus.Mocks;
using School.Tests;
using School.Web.Modules.Diary.Supervision;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Syllabus;
using School.Web.Modules.Syllabus.Practice;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Tests.Host;

namespace School.Web.Tests.Contract;

/// <summary>A school with something of everything that the API tells, and somebody of each role to ask.</summary>
internal static class FuzzedSchool
{
    private const int Patience = 30;

    public static async Task<SchoolHost> StartAsync(TestPostgres postgres, bool listening = false)
    {
        var host = listening ? await SchoolHost.ListeningAsync(postgres) : await SchoolHost.StartAsync(postgres);
        var monday = await LarkfieldMonday.SeedAsync(host, others: 2);
        var now = host.Clock.GetCurrentInstant();
        var pupil = monday.Idris;
        await host.Data.MockTestAsync(pupil.Id, (TestHeadings.All[0].Code, FaultKind.Driving), (TestHeadings.All[3].Code, FaultKind.Serious));
        await host.TaughtAsync(pupil, monday.Marigold, 3, "Good mirrors.", 1, (SyllabusDefaults.GreatBritain().Skills.First().Key, SkillLevel.Helped));
        var facts = new TestDayFacts(
            now + Duration.FromDays(40), Duration.FromMinutes(40), 60, 20, TestData.PlaceAt(), Nation.EnglandAndWales, pupil.PickUp, false, "", pupil.Gearbox!.Value,
            monday.Marigold.Id, monday.Car.Id, OwnCar: false);
        await host.AddAsync(TestDay.Enter(pupil.Id, facts, now));
        await host.ShareForecastAsync(pupil);
        await host.KeepMoneyAsync();
        await host.Data.ContactAsync("Bram Oakley", (pupil.Id, [SeenOfPupil.Lessons, SeenOfPupil.Progress]));
        await host.AddAsync(new PupilAccess
        {
            PupilId = pupil.Id,
            PersonId = RowId.New(),
            ByName = "Basil Thornby",
            Reason = "Covers for Marigold.",
            At = now,
            Until = now + Duration.FromHours(8),
        });
        var trainee = await host.Data.InstructorAsync("Sable Kinnear");
        await host.WithDbAsync(db => db.Set<Instructor>().Where(i => i.Id == trainee.Id).ExecuteUpdateAsync(set => set
            .SetProperty(i => i.Registration, RegistrationKind.Trainee).SetProperty(i => i.TraineeOption, TraineeOption.Supervision)
            .SetProperty(i => i.RegisteredFrom, new LocalDate(2026, 1, 1)).SetProperty(i => i.RegisteredTo, new LocalDate(2026, 6, 30))));
        var given = await host.TaughtAsync(await host.Data.PupilAsync("Linnet Brook"), trainee, 20, "Steady.", 1);
        await host.AddAsync(new SupervisedDay { InstructorId = trainee.Id, Date = given.StartsAt.InZone(SchoolHost.London).Date, Minutes = 60, ByName = "Marigold Ashby", ByNumber = "482915" });
        return host;
    }

    /// <summary>Nobody, a pupil, an instructor and last the office.</summary>
    public static async Task<IReadOnlyList<Caller>> CallersAsync(SchoolHost host)
    {
        var pupil = await host.WithDbAsync(db => db.Set<Pupil>().AsNoTracking().OrderBy(p => p.Id).Skip(1).FirstAsync());
        var instructor = await host.WithDbAsync(db => db.Set<Modules.People.Instructor>().AsNoTracking().OrderBy(p => p.Id).FirstAsync());
        return
        [
            new(null, host.Anonymous()),
            new(Hat.Pupil, await host.ApiAsAsync(await host.Data.PersonAsync(pupil))),
            new(Hat.Instructor, await host.ApiAsAsync(await host.Data.PersonAsync(instructor))),
            new(Hat.Office, await host.ApiAsAsync(await host.Data.OfficeAsync())),
        ];
    }

    /// <summary>Asks every operation so many times, those that end things last; fails with everything that the document does not say.</summary>
    public static async Task FuzzAsync(TestPostgres postgres, uint seed, int times)
    {
        await using var host = await StartAsync(postgres);
        var document = await ContractDocument.ReadAsync(host.Anonymous());
        var callers = await CallersAsync(host);
        var fuzz = new ContractFuzz(document, callers);
        await fuzz.LearnAsync();
        var random = new Random((int)seed);
        // A fuzzer that is always refused finds nothing: as many operations as there are reads are to answer, however few times each was asked.
        var enough = document.Operations.Count(o => o.IsRead);
        foreach (var alike in document.Operations.GroupBy(Ends).OrderBy(stage => stage.Key))
        {
            foreach (var operation in alike)
            {
                for (var n = 0; n < times; n++)
                {
                    // The office may do most, so most questions come from it.
                    await fuzz.AskAsync(operation, callers[random.Next(3) > 0 ? 3 : random.Next(4)], random);
                }
            }

            // While there is still something that has not ended.
            for (var again = 0; alike.Key == 1 && again < Patience && fuzz.Successes.Count < enough; again++)
            {
                foreach (var operation in document.Operations.Where(o => Ends(o) < 2 && !fuzz.Successes.ContainsKey(o.Name)))
                {
                    await fuzz.AskAsync(operation, callers[^1], random);
                }
            }
        }

        Assert.True(fuzz.Faults.Count == 0, $"Seed {seed}, {fuzz.Asked} questions:\n{string.Join('\n', fuzz.Faults)}");
        Assert.True(
            fuzz.Successes.Count >= enough,
            $"Seed {seed}: never answered: {string.Join(", ", document.Operations.Select(o => o.Name).Where(name => !fuzz.Successes.ContainsKey(name)))}");
    }

    private static int Ends(Operation operation) =>
        operation.Path.EndsWith("/tokens/{id}", StringComparison.Ordinal) && !operation.IsRead ? 3
        : operation.Method == "delete" || operation.Path.EndsWith("/retire", StringComparison.Ordinal) ? 2
        : operation.IsRead ? 0
        : 1;
}
