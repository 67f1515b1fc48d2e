using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Core.Pupils;
using School.Core.Travel;

namespace School.Core.Tests.Diary;

/// <summary>A small invented school for examples: one instructor, one car, one pupil, an empty week in June 2026.
/// Places are named by the minutes they lie from base along one road, whatever the hour.</summary>
internal static class Larkfield
{
    public static readonly DateTimeZone Zone = DateTimeZoneProviders.Tzdb["Europe/London"];
    public static readonly LocalDate Monday = new(2026, 6, 8);
    public static readonly Guid InstructorId = new("00000000-0000-0000-0000-0000000000a1");
    public static readonly Guid CarId = new("00000000-0000-0000-0000-0000000000c1");
    public static readonly Guid PupilId = new("00000000-0000-0000-0000-0000000000b1");
    public static readonly ITravelTimes OneRoad = new Road();

    /// <summary>The school's own numbers, not those of a new school.</summary>
    public static readonly DiaryRules Rules = new() { BufferMinutes = 5, DailyTeachingMinutes = 480 };

    public static Coordinates Place(int minutesFromBase) => new(52, minutesFromBase / 1000.0);

    public static Instant At(LocalDate date, int hour, int minute = 0) =>
        date.At(new LocalTime(hour, minute)).InZoneStrictly(Zone).ToInstant();

    public static Instant At(int hour, int minute = 0) => At(Monday, hour, minute);

    public static Interval During(int fromHour, int fromMinute, int minutes) =>
        new(At(fromHour, fromMinute), At(fromHour, fromMinute) + Duration.FromMinutes(minutes));

    public static DiaryEntry Lesson(int hour, int minute, int minutes, int begins = 0, int? ends = null) => new(
        Guid.NewGuid(), EntryKind.Lesson, During(hour, minute, minutes), Guid.NewGuid(), CarId, Place(begins), Place(ends ?? begins));

    public static DiaryEntry Busy(int hour, int minute, int minutes) =>
        new(Guid.NewGuid(), EntryKind.Busy, During(hour, minute, minutes), null, null, null, null);

    public static readonly InstructorFacts Instructor = new(
        InstructorId, [Gearbox.Manual], Place(0), RegistrationKind.Approved, null, new LocalDate(2028, 1, 31), null);

    public static readonly CarFacts Car = new(
        CarId, Gearbox.Manual, true, new LocalDate(2022, 3, 1), new LocalDate(2027, 2, 28), null, null, null, []);

    public static readonly PupilFacts Pupil = new(
        PupilId, new LocalDate(2008, 5, 1), false, Gearbox.Manual, Licence.Provisional(new(2025, 4, 1)), true, null, []);

    public static InstructorDiary DiaryWith(params DiaryEntry[] entries) => new(
        Instructor,
        [.. Enumerable.Range(1, 5).Select(day => new WorkingHours((IsoDayOfWeek)day, new LocalTime(9, 0), new LocalTime(17, 0), new LocalDate(2026, 1, 1), null))],
        [],
        entries,
        [new CarHold(CarId, InstructorId, new Interval(At(new LocalDate(2026, 1, 1), 0), null))]);

    public static DiaryPicture Picture(InstructorDiary diary, DiaryRules? rules = null) => new(
        rules ?? Rules, Zone, At(Monday.PlusDays(-4), 12), [diary], [Car],
        [.. diary.Entries.Where(entry => entry.CarId is not null).Select(entry => new CarBusy(entry.CarId!.Value, entry.Id, entry.During))]);

    public static LessonWish Wish(int minutes = 60, int pickUp = 0, int? dropOff = null) => new(
        Pupil, minutes, Place(pickUp), Place(dropOff ?? pickUp), Monday, Monday, null, NoticeApplies: true);

    private sealed class Road : ITravelTimes
    {
        public Leg Between(Coordinates origin, Coordinates destination, LocalDateTime leaving)
        {
            var minutes = (int)Math.Round(Math.Abs(origin.Longitude - destination.Longitude) * 1000);
            return new(minutes, minutes / 3.0);
        }
    }
}
