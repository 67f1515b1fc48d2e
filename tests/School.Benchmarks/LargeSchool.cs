using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Core.Travel;

namespace School.Benchmarks;

/// <summary>
/// An invented large school: fifty instructors with four weeks of lessons, four or five on a working day, some with a break; on every ninth day only before noon. Two of
/// five wishes are of a kind, and one is for a lesson with a break.
/// </summary>
internal static class LargeSchool
{
    public const int Days = 28;

    private const int Instructors = 50;
    private const int PupilsEach = 18;

    public static readonly LocalDate First = new(2026, 6, 8);

    private static readonly DateTimeZone London = DateTimeZoneProviders.Tzdb["Europe/London"];

    public static (DiaryPicture Picture, IReadOnlyList<LessonWish> Wishes) Make()
    {
        var random = new Random(8);
        var (cars, taken) = (new List<CarFacts>(), new List<CarBusy>());
        var diaries = new List<InstructorDiary>();
        for (var i = 0; i < Instructors; i++)
        {
            var id = NewId(random);
            var car = new CarFacts(NewId(random), i % 4 == 0 ? Gearbox.Automatic : Gearbox.Manual, true, new(2024, 3, 1), new(2028, 3, 1), null, null, null, []);
            cars.Add(car);
            var pupils = Enumerable.Range(0, PupilsEach).Select(_ => (Id: NewId(random), At: PlaceNear(random))).ToList();
            var entries = Enumerable.Range(0, Days).Select(First.PlusDays).Where(date => date.DayOfWeek < IsoDayOfWeek.Saturday)
                .SelectMany(date => LessonsOn(date, pupils, car.Id, random)).ToList();
            taken.AddRange(entries.Select(entry => new CarBusy(car.Id, entry.Id, entry.During)));
            diaries.Add(new(
                new(id, [Gearbox.Manual, Gearbox.Automatic], PlaceNear(random), RegistrationKind.Approved, null, new(2029, 1, 1), null),
                [.. Enumerable.Range(1, 5).Select(day => new WorkingHours((IsoDayOfWeek)day, new(8, 0), new(18, 0), new(2026, 1, 1), null))],
                [],
                entries,
                [new(car.Id, id, new(null, null))]));
        }

        var picture = new DiaryPicture(new DiaryRules(), London, At(First.PlusDays(-2), 720), diaries, cars, taken);
        var wishes = Enumerable.Range(0, 5).Select(n => new LessonWish(
            new(NewId(random), new(2004, 5, 6), false, Gearbox.Manual, Core.Pupils.Licence.Provisional(new(2024, 1, 1)), true, null, []),
            n == 3 ? 125 : 60, PlaceNear(random), PlaceNear(random), First, First.PlusDays(Days - 1), null, NoticeApplies: true, AnyStart: n == 3,
            n switch { 3 => LessonKind.Intensive, 4 => LessonKind.Motorway, _ => LessonKind.Standard })).ToList();
        return (picture, wishes);
    }

    private static IEnumerable<DiaryEntry> LessonsOn(LocalDate date, List<(Guid Id, Coordinates At)> pupils, Guid carId, Random random)
    {
        var minute = 480 + (15 * random.Next(5));
        while (minute <= (date.DayOfYear % 9 == 3 ? 660 : 1020))
        {
            var (pupil, place) = pupils[random.Next(pupils.Count)];
            var length = random.Next(4) == 0 ? 90 : 60;
            yield return new(
                NewId(random), EntryKind.Lesson, new(At(date, minute), At(date, minute) + Duration.FromMinutes(length)), pupil, carId, place, place)
            {
                Breaks = length == 90 ? [new(40, 15)] : [],
            };
            minute += length + (15 * random.Next(2, 7));
        }
    }

    private static Instant At(LocalDate date, int minute) => London.AtStrictly(date.At(LocalTime.FromMinutesSinceMidnight(minute))).ToInstant();

    /// <summary>Within about four miles of the invented town's middle.</summary>
    private static Coordinates PlaceNear(Random random) => new(52.4 + ((random.NextDouble() - 0.5) * 0.1), -1.2 + ((random.NextDouble() - 0.5) * 0.16));

    private static Guid NewId(Random random)
    {
        var bytes = new byte[16];
        random.NextBytes(bytes);
        return new(bytes);
    }
}
