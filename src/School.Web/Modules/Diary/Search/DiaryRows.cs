using NodaTime;
using School.Core.Diary;
using School.Core.Pupils;
using School.Core.Travel;

namespace School.Web.Modules.Diary.Search;

/// <summary>A lesson or a test of a pupil.</summary>
internal sealed class TakenTime
{
    public Guid Id { get; init; }

    public Guid PupilId { get; init; }

    public Instant From { get; init; }

    public Instant Until { get; init; }

    public bool Counts { get; init; }

    public int BreakMinutes { get; init; }

    public PupilLesson Lesson => new(Id, new Interval(From, Until), Counts) { BreakMinutes = BreakMinutes };
}

/// <summary>A row of the diary before it is an entry.</summary>
internal sealed class FilledTime
{
    public Guid Id { get; init; }

    public EntryKind Kind { get; init; }

    public LessonKind? LessonKind { get; init; }

    public string Breaks { get; init; } = "";

    public Guid? InstructorId { get; init; }

    public Guid PupilId { get; init; }

    public Guid? CarId { get; init; }

    public Instant From { get; init; }

    public Instant Until { get; init; }

    public double FromLatitude { get; init; }

    public double FromLongitude { get; init; }

    public double ToLatitude { get; init; }

    public double ToLongitude { get; init; }

    public (Guid? InstructorId, DiaryEntry Entry) Entry => (InstructorId, new DiaryEntry(
        Id, Kind, new Interval(From, Until), PupilId, CarId, new Coordinates(FromLatitude, FromLongitude), new Coordinates(ToLatitude, ToLongitude))
    {
        LessonKind = LessonKind ?? default,
        Breaks = LessonBreak.Read(Breaks),
    });
}
