using NodaTime;
using School.Core.Cars;
using School.Core.Pupils;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Platform.Access;

namespace School.Web.Demo;

/// <summary>Pupils who came before the others, passed and left: enough of them for forecasts to be looked back on.</summary>
internal sealed class DemoFinished(IServiceProvider services, DemoClock clock, Instant now, DateTimeZone zone, DemoLearning learning)
{
    /// <summary>With those of the present pupils who passed they are more than twenty.</summary>
    private const int Each = 7;
    private const int Instructors = 3;
    private const int Minutes = 120;

    /// <summary>No present pupil has a number from here on.</summary>
    private const int FirstNumber = 100;

    /// <summary>The last of them passed so many weeks ago, before the weeks of the others begin.</summary>
    private const int LastPassed = DemoSchool.WeeksBack + 3;

    /// <summary>So far back a course may begin.</summary>
    public const int WeeksBack = LastPassed + (3 * Each) + 32;

    /// <summary>A course of chance of their own, so that that of the others stays what it was.</summary>
    public const int Seed = 20_060;

    private static readonly int[] Starts = [9, 12, 15];

    private readonly LocalDate _today = now.InZone(zone).Date;

    public async Task FillAsync(IReadOnlyList<Instructor> instructors)
    {
        for (var who = 0; who < Instructors; who++)
        {
            for (var n = 0; n < Each; n++)
            {
                await FinishAsync(instructors[who], who, n);
            }
        }

        clock.Now = now;
    }

    private async Task FinishAsync(Instructor instructor, int who, int n)
    {
        var number = FirstNumber + (who * Each) + n;
        var lessons = 17 + ((number * 7) % 13);
        var passed = LastPassed + (n * 3);
        var first = _today.PlusWeeks(-passed - lessons).PlusDays(DayOf(who, n));
        clock.Now = At(first.PlusDays(-8), 17);
        var pupil = new DemoPupil(number, await AddAsync(number, who, instructor, first), instructor);
        for (var week = 0; week < lessons; week++)
        {
            await TeachAsync(pupil, At(first.PlusWeeks(week), Starts[n / 3] + (who == 1 ? 1 : 0)));
        }

        clock.Now = At(_today.PlusWeeks(-passed).PlusDays(6), 19);
        await PassAsync(pupil, first.PlusWeeks(lessons), number);
        await DemoVerbs.DoAsync<RetirePupil, Pupil>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, pupil.Pupil.Id, null, cancel));
    }

    /// <summary>Days from today on which the instructor works long: three for the first, and for the others any but Sundays.</summary>
    private int DayOf(int who, int n)
    {
        int[] days = who == 0 ? [0, 1, 4] : [.. Enumerable.Range(0, 6).Where(day => _today.PlusDays(day).DayOfWeek != IsoDayOfWeek.Sunday).Take(3)];
        return days[n % 3];
    }

    private async Task<Pupil> AddAsync(int number, int who, Instructor instructor, LocalDate first)
    {
        var pupil = await DemoVerbs.DoAsync<AddPupil, Pupil>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, new()
        {
            Name = Larkfield.NameOf(number),
            Email = $"pupil{number}@larkfield.example",
            Phone = $"01632 960{number}",
            BirthDate = first.PlusYears(-18).PlusDays(-number),
            DriverNumber = Larkfield.DriverNumberOf(Larkfield.NameOf(number), first.PlusYears(-18).PlusDays(-number)),
            Gearbox = who == 2 ? Gearbox.Automatic : Gearbox.Manual,
            Licence = new() { Kind = LicenceKind.Provisional, ValidFrom = first.PlusMonths(-4), ValidUntil = first.PlusMonths(-4).PlusYears(10).PlusDays(-1) },
            PickUp = PlaceInput.Of(Larkfield.PlaceOf(number)),
            UsualInstructorId = instructor.Id,
            LessonMinutes = Minutes,
        }, cancel));
        await DemoVerbs.DoAsync<CheckEyesight, Pupil>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, pupil.Id, new(clock.Now.InZone(zone).Date), cancel));
        await DemoVerbs.DoAsync<ChangePapers, Pupil>(
            services, Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, pupil.Id, new(first.PlusDays(-20), first.PlusDays(-10)), null, cancel));
        return pupil;
    }

    private async Task TeachAsync(DemoPupil pupil, Instant start)
    {
        if (Larkfield.IsPublicHoliday(start.InZone(zone).Date))
        {
            return;
        }

        clock.Now = start - Duration.FromDays(5);
        var booked = await DemoVerbs.TryAsync<BookLesson, Lesson>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(
            Viewer.Service, new(pupil.Pupil.Id, pupil.Instructor.Id, start, Minutes), cancel));
        if (!booked.Ok)
        {
            return;
        }

        clock.Now = booked.Value.EndsAt + Duration.FromMinutes(10);
        var viewer = new Viewer(pupil.Instructor.Id, OfficeParts.None, pupil.Instructor.Id, null, pupil.Instructor.Name);
        var record = learning.Next(pupil, Minutes, DemoWords.Plain[pupil.Number % DemoWords.Plain.Length], start.InZone(zone).Date);
        await DemoVerbs.DoAsync<RecordLesson, LessonSheet>(services, viewer, (verb, cancel) => verb.RunAsync(viewer, booked.Value.Id, record, null, cancel));
    }

    /// <summary>On the first day from then on on which the agency tests.</summary>
    private async Task PassAsync(DemoPupil pupil, LocalDate from, int number)
    {
        for (var day = 0; day < 6; day++)
        {
            var start = (from.PlusDays(day) + new LocalTime(8 + (number % 6), 24)).InZoneLeniently(zone).ToInstant();
            var outcome = await DemoVerbs.TryAsync<EnterTestDay, TestDay>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(
                Viewer.Service,
                new(pupil.Pupil.Id, start, PlaceInput.Of(Larkfield.TestCentre), "england-and-wales", $"{42_000_000 + (number * 7919)}")
                { Result = new(true, 2 + (number % 11), 0, 0) },
                cancel));
            if (outcome.Ok)
            {
                return;
            }
        }
    }

    private Instant At(LocalDate date, int hour) => (date + new LocalTime(hour, 0)).InZoneLeniently(zone).ToInstant();
}
