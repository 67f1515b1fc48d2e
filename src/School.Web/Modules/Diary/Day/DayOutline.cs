using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Web.Modules.People.Contracts;

namespace School.Web.Modules.Diary.Day;

/// <summary>One date of one instructor, without pupils: when they work, are off, are taken and are free.</summary>
internal sealed record DayOutline(
    InstructorCard Instructor, LocalDate Date, IReadOnlyList<Interval> Working, IReadOnlyList<Interval> Off, IReadOnlyList<DiaryEntry> Entries, IReadOnlyList<Interval> Free)
{
    /// <summary>Minutes of teaching, without rests.</summary>
    public int BookedMinutes { get; init; }

    /// <summary>Entries that stand in time off.</summary>
    public IReadOnlySet<Guid> InTimeOff { get; init; } = new HashSet<Guid>();

    /// <summary>When each test begins.</summary>
    public IReadOnlyDictionary<Guid, Instant> Tests { get; init; } = new Dictionary<Guid, Instant>();

    /// <summary>Working minutes that are not off.</summary>
    public int PossibleMinutes { get; init; }

    public int FreeMinutes => (int)Free.Sum(gap => gap.Duration.TotalMinutes);

    public bool IsWorking => Working.Count > 0;
}
