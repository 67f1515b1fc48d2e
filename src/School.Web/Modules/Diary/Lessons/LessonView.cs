using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Travel.Contracts;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>A lesson with the names that go with its ids, for pages.</summary>
internal sealed record LessonView(
    Guid Id, int Version, Guid PupilId, string PupilName, string PupilPhone, Guid InstructorId, string InstructorName, string InstructorPhone, Guid CarId, string CarLabel,
    Instant StartsAt, Instant EndsAt, int Minutes, LessonState State, Place PickUp, Place DropOff, CancelReason? CancelledBecause, bool? Chargeable,
    int? MinutesTaught, string Note)
{
    public Interval During => new(StartsAt, EndsAt);
}

/// <summary>A stop of the day with what the instructor needs to know of the pupil.</summary>
internal sealed record DayStop(RouteStop Stop, LessonView Lesson, PupilCard Pupil, string LastNote, bool IsFirstLesson);

/// <summary>A test day as a stop of the day.</summary>
internal sealed record DayTest(RouteStop Stop, TestDays.TestDay Test, string PupilName);

/// <summary>An instructor's day: the route, its stops, and the hours and time off that frame it.</summary>
internal sealed record DayDetail(
    Guid InstructorId, string InstructorName, Place Base, LocalDate Date, DayRoute Route, IReadOnlyList<DayStop> Stops,
    IReadOnlyList<WorkingHours> Hours, IReadOnlyList<Interval> TimeOff, DiaryRules Rules)
{
    public IReadOnlyList<DayTest> Tests { get; init; } = [];
}
