using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Hours;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;

namespace School.Web.Modules.Diary.Day;

/// <summary>One date of one instructor with everything that the pages show of it.</summary>
internal sealed record DaySheet(
    DiaryContext Context, InstructorCard Instructor, LocalDate Date, DayRoute Route, IReadOnlyList<Lesson> Lessons,
    IReadOnlyList<TestDay> Tests, IReadOnlyList<Interval> Working, IReadOnlyList<TimeOffRow> TimeOff, IReadOnlyList<Interval> Free)
{
    /// <summary>The next stop and how late it is, once the time to leave is past; told the last drive of the day, where there is one.</summary>
    public Func<LastDrive?, LateStop?> Overdue { get; init; } = _ => null;

    /// <summary>The cars the instructor holds on the date.</summary>
    public IReadOnlyList<Guid> Held { get; init; } = [];

    /// <summary>Lessons that were missed had been booked too.</summary>
    public int BookedMinutes => Lessons.Sum(l => l.Minutes);

    public int Missed => Lessons.Count(l => l.State is LessonState.Missed);

    public int TaughtMinutes => Lessons.Sum(l => l.MinutesTaught ?? 0);
}

/// <summary>What all days that were read together share.</summary>
internal sealed record DiaryContext(
    SchoolFacts School, DiaryRules Rules, Instant Now, IReadOnlyDictionary<Guid, PupilCard> Pupils, IReadOnlyDictionary<Guid, CarCard> Cars)
{
    /// <summary>What pupils were told about lessons that start late, by lesson.</summary>
    public IReadOnlyDictionary<Guid, LateNote> Late { get; init; } = new Dictionary<Guid, LateNote>();

    public LocalDate Today => Now.InZone(School.Zone).Date;

    public string Times(Interval during) => ScreenTimes.Of(School, during);
}
