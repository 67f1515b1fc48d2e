using Microsoft.AspNetCore.Hosting;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Time;
using School.Core.Pupils;
using School.Core.Syllabus;
using School.Core.Travel;
using School.Tests;
using School.Web.Demo;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.Diary.Supervision;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People;
using School.Web.Modules.Places;
using School.Web.Modules.Pupils;
using School.Web.Modules.Syllabus;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Modules.Syllabus.Mocks;
using School.Web.Platform.Operations;
using School.Web.Tests.Host;

namespace School.Web.Tests.Demo;

/// <summary>The demo is read as a practitioner would, and nothing in it contradicts anything else.</summary>
public sealed class DemoAgreesTests(TestPostgres postgres)
{
    private static readonly Instant Now = Instant.FromUtc(2026, 3, 2, 8, 0);
    private static readonly DateTimeZone Zone = SchoolHost.London;

    [Fact]
    public async Task Notes_levels_mocks_hours_kinds_papers_plates_and_places_agree()
    {
        var clock = new DemoClock(Now);
        await using var host = await SchoolHost.StartWithAsync(postgres, services => services.AddSingleton<IClock>(clock));
        await host.WithDbAsync(db => db.Set<DiarySettings>().ExecuteUpdateAsync(
            set => set.SetProperty(s => s.Rules.BufferMinutes, 10).SetProperty(s => s.Rules.DailyTeachingMinutes, 420)));
        // With the services that the demo has, before anything is served.
        await using (var services = DemoSetup.Services(
            host.Services.GetRequiredService<IConfiguration>(), host.Services.GetRequiredService<IWebHostEnvironment>(), host.ServiceConnectionString, clock).BuildServiceProvider())
        {
            await new DemoSchool(services, clock, Now).FillAsync("a-password-for-the-demo-1");
        }

        clock.Now = Now;
        var school = await ReadAsync(host);

        Assert.Empty(Notes(school).Concat(Passes(school)).Concat(Mocks(school)).Concat(Motorways(school)).Concat(Hours(school)).Concat(Papers(school)).Concat(Cars(school))
            .Concat(Places(school)).Concat(Left(school)).Concat(Holidays(school)).Concat(SatIn(school)).Concat(Alone(school)).Concat(Stale(school)).Concat(Needs(school))
            .Concat(Theory(school)).Concat(Seen(school)).Concat(Known(school)).Concat(Mots(school)).Concat(Repeated(NotesOf(school))));
        Assert.NotEmpty(await host.WithDbAsync(db => db.Set<Proposal>().AsNoTracking().Where(p => p.Kind == ProposalKind.Course && p.State == ProposalState.Proposed).ToListAsync()));
        Assert.Equal(2, await host.WithDbAsync(db => db.Set<Modules.Diary.Swaps.SwapAnswer>().CountAsync(a => a.Open)));
        Contradict(school);
        await using var said = new StringWriter();
        Assert.True(await CheckCommand.RunAsync(host.Services, host.ServiceConnectionString, said, default) == 0, said.ToString());
    }

    /// <summary>Each sort of contradiction is made once, and found.</summary>
    private static void Contradict(School school)
    {
        var told = school.Records.First(r => r.Levels.Count > 0 && DemoWords.Of(SyllabusDefaults.GreatBritain().Find(r.Levels[0].Skill)!, r.Levels[0].Level).Note == school.Lessons[r.LessonId].Note);
        told.Levels = [.. told.Levels.Select(given => given with { Level = SkillLevel.Reflection }), new() { Skill = MotorwayRule.Skill, Level = SkillLevel.Introduced }];
        told.Levels[0] = told.Levels[0] with { Level = SkillLevel.Introduced };
        school.Cars[school.Lessons[told.LessonId].CarId].DualControls = false;
        school.Mocks[0].On = new(2020, 1, 6);
        school.Supervised[0].Minutes = SupervisedDay.MostMinutes;
        school.Cars.Values.First().Plate = "LK00 ABC";
        var passed = school.Tests.First(t => t.State == TestDayState.Passed);
        school.Pupils[passed.PupilId].TheoryPassedOn = null;
        var ahead = school.Lessons.Values.First(l => l.State == LessonState.Booked && l.StartsAt > Now);
        school.Pupils[ahead.PupilId].RetiredOn = new(2026, 3, 1);
        school.Pupils[ahead.PupilId].PickUp = school.Pupils[ahead.PupilId].PickUp with { Latitude = 10 };
        var more = Lesson.Book(passed.PupilId, ahead.InstructorId, ahead.CarId, ahead.During, ahead.PickUp, ahead.DropOff, Now);
        var broken = school with { Lessons = school.Lessons.Append(new(more.Id, more)).ToDictionary() };
        var day = school.Supervised[1];
        var supervised = school.Lessons.Values.First(l => l.InstructorId == day.InstructorId && l.State == LessonState.Taught && l.StartsAt.InZone(Zone).Date == day.Date);
        var own = Lesson.Book(passed.PupilId, school.Instructors.Values.First(i => i.RegistrationNumber == day.ByNumber).Id, ahead.CarId, supervised.During, ahead.PickUp, ahead.DropOff, Now);
        var goodFriday = new LocalDate(2026, 4, 3).At(new(10, 0)).InZoneStrictly(Zone).ToInstant();
        var feast = Lesson.Book(passed.PupilId, ahead.InstructorId, ahead.CarId, new(goodFriday, goodFriday + Duration.FromHours(1)), ahead.PickUp, ahead.DropOff, Now);
        Assert.NotEmpty(SatIn(school with { Supervised = [day], Lessons = school.Lessons.Append(new(own.Id, own)).ToDictionary() }));
        Assert.NotEmpty(Holidays(school with { Lessons = school.Lessons.Append(new(feast.Id, feast)).ToDictionary() }));
        Assert.NotEmpty(Stale(school with { Records = [.. school.Records.Where(r => school.Lessons[r.LessonId].StartsAt < Now - Duration.FromDays(50))] }));
        var newest = school.Records.Where(r => school.Lessons[r.LessonId].StartsAt > Now - Duration.FromDays(14)).MaxBy(r => school.Lessons[r.LessonId].StartsAt)!;
        newest.Levels = [.. SyllabusDefaults.GreatBritain().Skills.Select(skill => new LevelGiven { Skill = skill.Key, Level = SkillLevel.Independent })];
        Assert.NotEmpty(Alone(school));
        school.Pupils.Values.First(p => p.Gearbox == Gearbox.Automatic).Need = "Clutch control in slow queues.";
        school.Pupils[ahead.PupilId].TheoryPassedOn = new(2001, 1, 1);
        school.Instructors.Values.First(i => i.RegistrationSeen.On is not null).RegisteredFrom = new(2030, 1, 1);
        school.Pupils[told.PupilId].DriverNumberSealed = null;
        school.Cars.Values.First().MotExpires = school.Cars.Values.First().FirstRegistered.PlusYears(9);
        Assert.All([Needs(school), Theory(school), Seen(school), Known(school), Mots(school), Repeated([("Zofia", ["One.", "One."])])], Assert.NotEmpty);
        Assert.All([Notes(broken), Passes(broken), Mocks(broken), Motorways(broken), Hours(broken), Papers(broken), Cars(broken), Places(broken), Left(broken)], Assert.NotEmpty);
    }

    /// <summary>A note that is said of a skill at a level goes with a lesson that gave that skill that level.</summary>
    private static IEnumerable<string> Notes(School school)
    {
        var skills = SyllabusDefaults.GreatBritain().Skills;
        foreach (var record in school.Records)
        {
            var note = school.Lessons[record.LessonId].Note;
            var told = (from skill in skills from level in Enum.GetValues<SkillLevel>() where DemoWords.Of(skill, level).Note == note select (skill.Key, Level: level)).ToList();
            if (told.Count > 0 && record.Levels.Count > 0 && !record.Levels.Any(given => told.Contains((given.Skill, given.Level))))
            {
                yield return $"{school.Who(record.PupilId)}: “{note}” beside {string.Join(", ", record.Levels.Select(given => $"{given.Skill} {given.Level}"))}";
            }
        }
    }

    /// <summary>Who has passed has no more lessons, but refreshers and motorway lessons.</summary>
    private static IEnumerable<string> Passes(School school) =>
        from test in school.Tests
        where test.State == TestDayState.Passed
        from lesson in school.Of(test.PupilId)
        where lesson.StartsAt > test.StartsAt && lesson.State != LessonState.Cancelled && lesson.Kind is not (LessonKind.Refresher or LessonKind.Motorway)
        select $"{school.Who(test.PupilId)} passed on {test.StartsAt} and has a {lesson.Kind} lesson on {lesson.StartsAt}";

    /// <summary>Nobody drives a mock test before a lesson, or with faults at what was never begun.</summary>
    private static IEnumerable<string> Mocks(School school) =>
        from mock in school.Mocks
        let first = school.Of(mock.PupilId).Where(l => l.State == LessonState.Taught).Select(l => l.StartsAt.InZone(Zone).Date).DefaultIfEmpty(LocalDate.MaxIsoValue).Min()
        where mock.On <= first || mock.On > Now.InZone(Zone).Date
        select $"{school.Who(mock.PupilId)}: a mock test on {mock.On}, the first lesson on {first}";

    /// <summary>A motorway is for who holds a full licence, or goes with an approved instructor and dual controls (SI 2018/222).</summary>
    private static IEnumerable<string> Motorways(School school) =>
        from lesson in school.Lessons.Values
        let onIt = lesson.Kind == LessonKind.Motorway || school.Records.Any(r => r.LessonId == lesson.Id && r.Levels.Any(given => given.Skill == MotorwayRule.Skill))
        where onIt && lesson.State != LessonState.Cancelled
        let pupil = school.Pupils[lesson.PupilId]
        let date = lesson.StartsAt.InZone(Zone).Date
        where Licence.On(pupil.SeenLicence(), date, pupil.Gearbox!.Value, pupil.BirthDate) != LicenceStanding.Holder
            && (school.Instructors[lesson.InstructorId].Registration != RegistrationKind.Approved || !school.Cars[lesson.CarId].DualControls)
        select $"{pupil.Name} on a motorway on {date}";

    private static IEnumerable<string> Hours(School school) =>
        school.Lessons.Values.Where(l => l.State == LessonState.Taught && !(l.MinutesTaught > 0 && l.MinutesTaught <= l.Minutes)).Select(l => $"{school.Who(l.PupilId)}: {l.MinutesTaught} of {l.Minutes} minutes taught")
            .Concat(school.Lessons.Values.Where(l => l.Minutes + l.BreakMinutes != (int)(l.EndsAt - l.StartsAt).TotalMinutes).Select(l => $"{school.Who(l.PupilId)}: minutes and breaks are not its length"))
            .Concat(school.Lessons.Values.Where(l => l.State == LessonState.Taught && l.EndsAt > Now).Select(l => $"{school.Who(l.PupilId)}: taught before it ended"))
            .Concat(school.Records.Where(r => school.Lessons[r.LessonId].State != LessonState.Taught).Select(r => $"{school.Who(r.PupilId)}: a record of a lesson that was not taught"))
            .Concat(from day in school.Supervised
                    let given = school.Lessons.Values.Where(l => l.InstructorId == day.InstructorId && l.StartsAt.InZone(Zone).Date == day.Date).Sum(l => l.MinutesTaught ?? 0)
                    where day.Minutes > given || school.Instructors[day.InstructorId].Registration != RegistrationKind.Trainee
                    select $"{day.Date}: sat in for {day.Minutes} of {given} minutes");

    /// <summary>Licence, age and theory were there when they were needed.</summary>
    private static IEnumerable<string> Papers(School school) =>
        (from lesson in school.Lessons.Values
         where lesson.State is LessonState.Taught or LessonState.Booked
         let pupil = school.Pupils[lesson.PupilId]
         let date = lesson.StartsAt.InZone(Zone).Date
         where !Licence.On(pupil.SeenLicence(), date, pupil.Gearbox!.Value, pupil.BirthDate).MayDrive() || date < LearnerAge.EarliestLesson(pupil.BirthDate!.Value, pupil.MobilityAward)
         select $"{pupil.Name} drives on {date} without a licence or too young")
        .Concat(
            from test in school.Tests
            where test.State is TestDayState.Passed or TestDayState.Failed
            let pupil = school.Pupils[test.PupilId]
            let date = test.StartsAt.InZone(Zone).Date
            where Licence.NeedsTheory(pupil.SeenLicence()) && !(pupil.TheoryPassedOn <= date && TheoryCertificate.LastDay(pupil.TheoryPassedOn.Value) >= date)
            select $"{pupil.Name} took a test on {date}, theory passed on {pupil.TheoryPassedOn}")
        .Concat(school.Tests.Where(t => t.Gearbox != school.Pupils[t.PupilId].Gearbox).Select(t => $"{school.Who(t.PupilId)}: a test in the other gearbox"))
        .Concat(school.Lessons.Values.Where(l => school.Cars[l.CarId].Gearbox != school.Pupils[l.PupilId].Gearbox).Select(l => $"{school.Who(l.PupilId)}: a lesson in the other gearbox"));

    /// <summary>The age on a plate is the year of a registration from March on, and the year and fifty from September on; January and February are the year before (from memory).</summary>
    private static IEnumerable<string> Cars(School school) =>
        from car in school.Cars.Values
        let registered = car.FirstRegistered
        let year = registered.Month < 3 ? registered.Year - 1 : registered.Year
        let age = (year % 100) + (registered.Month is >= 3 and < 9 ? 0 : 50)
        where !car.Plate.StartsWith($"LK{age:00} ", StringComparison.Ordinal)
        select $"{car.Plate}, first registered on {registered}";

    /// <summary>Each place lies by its postcode, and in an area of the school.</summary>
    private static IEnumerable<string> Places(School school) =>
        from place in school.Pupils.Values.Select(p => p.PickUp).Concat(school.Instructors.Values.Select(i => i.Base)).Concat(school.Lessons.Values.SelectMany(l => new[] { l.PickUp, l.DropOff })).Distinct()
        let found = school.Postcodes.GetValueOrDefault(place.Postcode)
        where found is null || found.At().DistanceMetres(place.At()) > Postcode.ReachMetres || !school.Districts.Contains(place.Postcode.Split(' ')[0])
        select $"{place.Written}, {place.Postcode}";

    /// <summary>The school keeps the public holidays of England and Wales.</summary>
    private static IEnumerable<string> Holidays(School school) =>
        from lesson in school.Lessons.Values
        let date = lesson.StartsAt.InZone(Zone).Date
        where lesson.State != LessonState.Cancelled && BankHolidays.Of(Nation.EnglandAndWales, date.Year).Any(day => day.Date == date)
        select $"{school.Who(lesson.PupilId)}: a lesson on a public holiday, {date}";

    /// <summary>Nobody sits in on a lesson while they give one, or are at a test.</summary>
    private static IEnumerable<string> SatIn(School school) =>
        from day in school.Supervised
        let who = school.Instructors.Values.Single(i => i.RegistrationNumber == day.ByNumber).Id
        let own = school.Lessons.Values.Where(l => l.InstructorId == who && (l.State is LessonState.Taught or LessonState.Booked)).Select(l => l.During)
            .Concat(school.Tests.Where(t => t.InstructorId == who).Select(t => t.During)).ToList()
        from lesson in school.Lessons.Values
        where lesson.InstructorId == day.InstructorId && lesson.State == LessonState.Taught && lesson.StartsAt.InZone(Zone).Date == day.Date
            && own.Exists(one => one.Start < lesson.EndsAt && one.End > lesson.StartsAt)
        select $"{day.ByName} sat in on {day.Date} and taught then";

    /// <summary>What goes alone fits the hours, those at another school included: about an hour and a half for each skill (common practice, no source).</summary>
    private static IEnumerable<string> Alone(School school) =>
        from records in school.Records.Where(r => r.Levels.Count > 0).GroupBy(r => r.PupilId)
        let before = records.MinBy(r => school.Lessons[r.LessonId].StartsAt)!.Levels.Count switch { > 20 => 21, > 10 => 11, _ => 0 }
        let alone = Standings(school, records).Values.Count(one => one.Level >= SkillLevel.Independent)
        where alone * 1.5 > before + (school.Of(records.Key).Sum(l => l.MinutesTaught ?? 0) / 60.0)
        select $"{school.Who(records.Key)}: {alone} skills go alone";

    /// <summary>Of somebody who comes, not half of what they can lies untouched for six weeks.</summary>
    private static IEnumerable<string> Stale(School school) =>
        from records in school.Records.GroupBy(r => r.PupilId)
        where school.Of(records.Key).Any(l => l.State == LessonState.Booked && l.StartsAt > Now)
        let standings = Standings(school, records)
        let stale = standings.Values.Count(one => one.Level >= NextSkills.Stands && Now - one.On > Duration.FromDays(NextSkills.UsualStaleDays))
        where stale * 2 > standings.Count
        select $"{school.Who(records.Key)}: {stale} of {standings.Count} skills not driven for six weeks";

    private static Dictionary<string, (SkillLevel Level, Instant On)> Standings(School school, IEnumerable<LessonRecord> records)
    {
        var standings = new Dictionary<string, (SkillLevel, Instant)>(StringComparer.Ordinal);
        foreach (var record in records.OrderBy(r => school.Lessons[r.LessonId].StartsAt))
        {
            record.Levels.ForEach(given => standings[given.Skill] = (given.Level, school.Lessons[record.LessonId].StartsAt));
        }

        return standings;
    }

    private static IEnumerable<string> Needs(School school) =>
        school.Pupils.Values.Where(p => p.Gearbox == Gearbox.Automatic && p.Need.Contains("clutch", StringComparison.OrdinalIgnoreCase)).Select(p => $"{p.Name} needs a clutch in an automatic");

    /// <summary>A theory test is booked with the number of a provisional licence (gov.uk, Book your theory test; from memory).</summary>
    private static IEnumerable<string> Theory(School school) =>
        from pupil in school.Pupils.Values
        let licence = pupil.SeenLicence()
        where pupil.TheoryPassedOn < (licence?.Beside?.ValidFrom ?? licence?.ValidFrom)
        select $"{pupil.Name} passed the theory test on {pupil.TheoryPassedOn}, before the licence";

    private static IEnumerable<string> Seen(School school) =>
        school.Instructors.Values.Where(i => i.RegistrationSeen.On < i.RegisteredFrom).Select(i => $"{i.Name}'s registration was seen before it began");

    /// <summary>Of whoever had a lesson the driver number is noted, and that their eyesight was checked before.</summary>
    private static IEnumerable<string> Known(School school) =>
        from pupil in school.Pupils.Values
        let first = school.Of(pupil.Id).Where(l => l.State == LessonState.Taught).Select(l => l.StartsAt).DefaultIfEmpty(Instant.MaxValue).Min()
        where first != Instant.MaxValue && (pupil.DriverNumberSealed is null || !(pupil.EyesightCheckedOn <= first.InZone(Zone).Date))
        select $"{pupil.Name} had lessons without a driver number or before the first eyesight check";

    /// <summary>A first MOT is due three years after registration and each lasts a year, a month more where it is done early (gov.uk, Getting an MOT).</summary>
    private static IEnumerable<string> Mots(School school) =>
        from car in school.Cars.Values
        where car.MotExpires > LocalDate.Max(car.FirstRegistered.PlusYears(3), Now.InZone(Zone).Date.PlusMonths(13)) || car.MotExpires < car.FirstRegistered.PlusYears(3)
        select $"{car.Plate}: an MOT until {car.MotExpires}, first registered on {car.FirstRegistered}";

    private static IEnumerable<(string Who, IReadOnlyList<string> Notes)> NotesOf(School school) =>
        school.Pupils.Keys.Select(id => (school.Who(id), (IReadOnlyList<string>)[.. school.Of(id).Where(l => l.State == LessonState.Taught && l.Note.Length > 0).OrderBy(l => l.StartsAt).Select(l => l.Note)]));

    private static IEnumerable<string> Repeated(IEnumerable<(string Who, IReadOnlyList<string> Notes)> all) =>
        all.Where(one => one.Notes.Zip(one.Notes.Skip(1)).Any(two => two.First == two.Second)).Select(one => $"{one.Who} reads the same note twice running");

    private static IEnumerable<string> Left(School school) =>
        from lesson in school.Lessons.Values
        let left = school.Pupils[lesson.PupilId].RetiredOn
        where left is not null && lesson.State == LessonState.Booked && lesson.StartsAt > Now
        select $"{school.Who(lesson.PupilId)} left on {left} and has a lesson on {lesson.StartsAt}";

    private static Task<School> ReadAsync(SchoolHost host) => host.WithDbAsync(async db => new School(
        await db.Set<Pupil>().AsNoTracking().ToDictionaryAsync(p => p.Id), await db.Set<Instructor>().AsNoTracking().ToDictionaryAsync(i => i.Id),
        await db.Set<Car>().AsNoTracking().ToDictionaryAsync(c => c.Id), await db.Set<Lesson>().AsNoTracking().ToDictionaryAsync(l => l.Id),
        await db.Set<LessonRecord>().AsNoTracking().ToListAsync(), await db.Set<TestDay>().AsNoTracking().Where(t => t.State != TestDayState.TakenOff).ToListAsync(),
        await db.Set<MockTest>().AsNoTracking().ToListAsync(), await db.Set<SupervisedDay>().AsNoTracking().ToListAsync(),
        await db.Set<PostcodeRow>().AsNoTracking().ToDictionaryAsync(p => p.Postcode), await db.Set<AreaDistrict>().AsNoTracking().Select(d => d.District).ToHashSetAsync()));

    private sealed record School(
        IReadOnlyDictionary<Guid, Pupil> Pupils, IReadOnlyDictionary<Guid, Instructor> Instructors, IReadOnlyDictionary<Guid, Car> Cars, IReadOnlyDictionary<Guid, Lesson> Lessons,
        IReadOnlyList<LessonRecord> Records, IReadOnlyList<TestDay> Tests, IReadOnlyList<MockTest> Mocks, IReadOnlyList<SupervisedDay> Supervised,
        IReadOnlyDictionary<string, PostcodeRow> Postcodes, IReadOnlySet<string> Districts)
    {
        public string Who(Guid pupil) => Pupils[pupil].Name;

        public IEnumerable<Lesson> Of(Guid pupil) => Lessons.Values.Where(l => l.PupilId == pupil);
    }
}
