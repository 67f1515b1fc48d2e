using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Messages;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Syllabus;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Demo;

/// <summary>
/// Ten weeks of history and six weeks ahead of an invented school, with pupils who finished before, made by the verbs that people use. The same numbers every time
/// for the same day, since the chance in it is seeded.
/// </summary>
internal sealed class DemoSchool(IServiceProvider services, DemoClock clock, Instant now)
{
    public const int WeeksBack = 10;
    public const int WeeksAhead = 6;

    private static readonly DateTimeZone Zone = DateTimeZoneProviders.Tzdb["Europe/London"];
    private readonly LocalDate _today = now.InZone(Zone).Date;

    /// <summary>Returns the addresses worth printing. Fills nothing where somebody lives already, but sets the password.</summary>
    public async Task<IReadOnlyList<string>> FillAsync(string password)
    {
        if (!await ReadAsync(db => db.Set<Person>().AnyAsync()))
        {
            Console.Out.WriteLine("Making up Larkfield Driving School; this takes a minute.");
            clock.Now = At(_today.PlusWeeks(-DemoFinished.WeeksBack - 1), 9);
            var places = new DemoPlaces(services);
            await places.FillSchoolAsync();
            var instructors = await AddInstructorsAsync();
            await AddCarsAsync(instructors);
            await places.FillInstructorsAsync(instructors);
            await new DemoFinished(services, clock, now, Zone, new(SyllabusDefaults.GreatBritain(), DemoFinished.Seed)).FillAsync(instructors);
            clock.Now = At(_today.PlusWeeks(-WeeksBack - 1), 9);
            var pupils = await AddPupilsAsync(instructors);
            await places.FillPupilsAsync(pupils);
            await new DemoBeside(services).FillAsync(pupils);
            var money = new DemoMoney(services, clock, now);
            await money.OpenAsync(pupils);
            var learning = new DemoLearning(SyllabusDefaults.GreatBritain());
            await new DemoDiary(services, clock, now, Zone, learning).FillAsync(pupils);
            await money.PayAsync(pupils);
            await new DemoTests(services, clock, now, Zone).FillAsync(pupils);
            await new DemoMocks(services, clock, now, Zone).FillAsync(pupils, learning);
            await new DemoDrives(services, clock, Zone).FillAsync(instructors);
            await new DemoPractice(services, clock, now, Zone).FillAsync(pupils);
            await new DemoTrainee(services, clock, now, Zone).FillAsync(instructors, pupils);
            await AddTroubleAsync(instructors);
            await new DemoCourse(services, clock, now, Zone).FillAsync(pupils);
            await new DemoSwap(services, clock, now).FillAsync();
            await CloseOldMessagesAsync();
        }

        await SetPasswordAsync(password);
        return ["office@larkfield.example", "instructor@larkfield.example", "instructor1@larkfield.example", "pupil@larkfield.example", "pupil1@larkfield.example", DemoBeside.SignsIn];
    }

    private LocalDate TraineeFrom => _today.PlusMonths(-5);

    private async Task<List<Instructor>> AddInstructorsAsync()
    {
        await DoAsync<InvitePerson, Invited>((verb, cancel) => verb.RunAsync(Viewer.Service, new("Rosalind Pike", "office@larkfield.example", OfficeParts.All), cancel));
        var made = new List<Instructor>();
        foreach (var (someone, n) in Larkfield.Instructors.Select((i, n) => (i, n)))
        {
            var trainee = someone.Registration == RegistrationKind.Trainee;
            var email = $"instructor{Suffix(n)}@larkfield.example";
            // Nobody sees a licence before it begins.
            clock.Now = trainee ? At(TraineeFrom, 9) : clock.Now;
            var instructor = await DoAsync<AddInstructor, Instructor>((verb, cancel) => verb.RunAsync(Viewer.Service, new(
                someone.Name, email, $"01632 9602{n:00}", someone.Teaches, someone.Registration, someone.Number,
                trainee ? TraineeFrom : null, trainee ? _today.PlusDays(24) : _today.PlusMonths(14 + (7 * n)),
                PlaceInput.Of(Larkfield.PlaceOf(someone.Home)), TraineeOption: trainee ? TraineeOption.Supervision : null), cancel));
            made.Add(instructor);
            await DoAsync<InvitePerson, Invited>((verb, cancel) => verb.RunAsync(Viewer.Service, new(someone.Name, email, InstructorId: instructor.Id), cancel));
            await AddHoursAsync(instructor, n);
        }

        return made;
    }

    /// <summary>Five days a week, always including today's weekday for the first; a split shift on one day.</summary>
    private async Task AddHoursAsync(Instructor instructor, int n)
    {
        for (var offset = 0; offset < 7; offset++)
        {
            var day = _today.PlusDays(offset).DayOfWeek;
            var off = n == 0 ? offset is 3 or 5 : day == IsoDayOfWeek.Sunday || (n == 3 && day == IsoDayOfWeek.Saturday);
            if (off)
            {
                continue;
            }

            (int Start, int End)[] shifts = (n, offset) switch
            {
                (0, 2) => [(8, 12), (14, 19)],
                (_, 6) => [(9, 14)],
                (1, _) => [(9, 18)],
                _ => [(8, 18)],
            };
            foreach (var (start, end) in shifts)
            {
                await DoAsync<AddHours, HoursChanged>((verb, cancel) => verb.RunAsync(
                    Viewer.Service, instructor.Id, new([day], new(start, 0), new(end, 0), n == 3 ? TraineeFrom : _today.PlusWeeks(-DemoFinished.WeeksBack - 1)), cancel));
            }
        }
    }

    private async Task AddCarsAsync(List<Instructor> instructors)
    {
        (string Label, string Plate, Gearbox Gearbox, int Mot, int? Holder)[] cars =
        [
            ("silver hatch", "FLD", Gearbox.Manual, 150, 0), ("blue hatch", "RDS", Gearbox.Automatic, 12, null),
            ("white hatch", "WAY", Gearbox.Manual, 240, 1), ("green hatch", "LNE", Gearbox.Automatic, 300, 2),
            ("red hatch", "MPH", Gearbox.Manual, 96, 3),
        ];
        foreach (var (label, letters, gearbox, mot, holder) in cars)
        {
            var registered = _today.PlusYears(-4).PlusDays(mot);
            var car = await DoAsync<AddCar, Car>((verb, cancel) => verb.RunAsync(Viewer.Service, new()
            {
                Label = label,
                Plate = $"LK{Larkfield.PlateAge(registered)} {letters}",
                Gearbox = gearbox,
                DualControls = true,
                FirstRegistered = registered,
                MotExpires = _today.PlusDays(mot),
                TaxExpires = _today.PlusDays(mot + 40),
                InsuranceExpires = _today.PlusDays(200),
                ServiceDue = _today.PlusDays(mot + 60),
            }, cancel));
            if (holder is { } n)
            {
                await DoAsync<HoldCar, Holding>((verb, cancel) => verb.RunAsync(Viewer.Service, car.Id, new(instructors[n].Id, n == 3 ? TraineeFrom : _today.PlusWeeks(-DemoFinished.WeeksBack - 1), null), cancel));
            }
        }
    }

    private async Task<List<DemoPupil>> AddPupilsAsync(List<Instructor> instructors)
    {
        var made = new List<DemoPupil>();
        for (var n = 0; n < Larkfield.PupilCount; n++)
        {
            var who = n < 13 ? 0 : n < 25 ? 1 : n < 34 ? 2 : 3;
            var instructor = instructors[who];
            var gearbox = who == 2 ? Gearbox.Automatic : Gearbox.Manual;
            var email = $"pupil{Suffix(n)}@larkfield.example";
            var minutes = (n % 5) switch { 0 or 3 => 90, 4 => 120, _ => 60 };
            var pupil = await DoAsync<AddPupil, Pupil>((verb, cancel) => verb.RunAsync(Viewer.Service, new()
            {
                Name = Larkfield.PupilName(n),
                Email = email,
                Phone = $"01632 9603{n:00}",
                BirthDate = DemoPapers.BornOn(n, _today),
                DriverNumber = Larkfield.DriverNumberOf(Larkfield.PupilName(n), DemoPapers.BornOn(n, _today)),
                Gearbox = gearbox,
                Licence = DemoPapers.LicenceOf(n, _today),
                PickUp = PlaceInput.Of(Larkfield.PlaceOf(n)),
                UsualInstructorId = instructor.Id,
                LessonMinutes = minutes,
                WeeklyMinutes = n % 6 == 0 ? 240 : null,
                EmergencyName = "At home",
                EmergencyPhone = $"01632 9604{n:00}",
                Need = DemoPapers.NeedOf(n) ?? Larkfield.NeedOf(n, gearbox),
                Notes = n % 7 == 2 ? "Reads slowly: diagrams help." : "",
                HealthNotes = n % 11 == 5 ? "Wears hearing aids; sit so that lips can be seen before moving off." : null,
            }, cancel));
            if (Larkfield.TimesOf(n) is { Count: > 0 } times)
            {
                await DoAsync<ChangeAvailability, Pupil>((verb, cancel) => verb.RunAsync(Viewer.Service, pupil.Id, times, pupil.Version, cancel));
            }

            await DoAsync<InvitePerson, Invited>((verb, cancel) => verb.RunAsync(Viewer.Service, new(pupil.Name, email, PupilId: pupil.Id), cancel));
            await DoAsync<CheckEyesight, Pupil>((verb, cancel) => verb.RunAsync(Viewer.Service, pupil.Id, new(clock.Now.InZone(Zone).Date), cancel));
            made.Add(new(n, pupil, instructor));
        }

        return made;
    }

    /// <summary>What an office finds on an ordinary Monday: an instructor away on a day that has lessons.</summary>
    private async Task AddTroubleAsync(List<Instructor> instructors)
    {
        clock.Now = now;
        var away = instructors[1];
        var from = now + Duration.FromDays(2);
        var lesson = await ReadAsync(db => db.Set<Lesson>().AsNoTracking().OrderBy(l => l.StartsAt)
            .FirstOrDefaultAsync(l => l.InstructorId == away.Id && l.State == LessonState.Booked && l.StartsAt > from));
        if (lesson is not null)
        {
            var day = lesson.StartsAt.InZone(Zone).Date;
            await DoAsync<AddTimeOff, TimeOffAdded>((verb, cancel) => verb.RunAsync(
                Viewer.Service, away.Id, new LocalTimeOff(day.AtMidnight(), day.PlusDays(1).AtMidnight(), "Standards check"), cancel));
        }
    }

    /// <summary>The mails of the weeks that were made up went out then; only what is new is left for the mail folder.</summary>
    private Task<int> CloseOldMessagesAsync()
    {
        var lately = now - Duration.FromHours(12);
        return ReadAsync(db => db.Set<Message>().Where(m => m.State == MessageState.Waiting && m.DueAt < lately).ExecuteUpdateAsync(set => set
            .SetProperty(m => m.State, MessageState.Sent).SetProperty(m => m.ClosedAt, m => m.DueAt)));
    }

    private Task<int> SetPasswordAsync(string password) => ReadAsync(async db =>
    {
        var hash = services.GetRequiredService<IPasswordHasher<Person>>().HashPassword(await db.Set<Person>().AsNoTracking().OrderBy(person => person.Id).FirstAsync(), password);
        return await db.Set<Person>().Where(person => !person.Closed)
            .ExecuteUpdateAsync(set => set.SetProperty(person => person.PasswordHash, hash).SetProperty(person => person.EmailConfirmed, true));
    });

    private async Task<T> ReadAsync<T>(Func<SchoolDb, Task<T>> work)
    {
        await using var scope = services.CreateAsyncScope();
        return await work(scope.ServiceProvider.GetRequiredService<SchoolDb>());
    }

    private Task<T> DoAsync<TVerb, T>(Func<TVerb, CancellationToken, Task<Outcome<T>>> run)
        where TVerb : notnull
        where T : notnull => DemoVerbs.DoAsync(services, Viewer.Service, run);

    private static Instant At(LocalDate date, int hour) => (date + new LocalTime(hour, 0)).InZoneLeniently(Zone).ToInstant();

    /// <summary>"pupil@", then "pupil1@" and so on.</summary>
    private static string Suffix(int n) => n == 0 ? "" : $"{n}";
}

internal sealed record DemoPupil(int Number, Pupil Pupil, Instructor Instructor);
