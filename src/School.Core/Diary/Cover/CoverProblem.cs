using NodaTime;
using School.Core.Diary.Slots;
using School.Core.Pupils;
using School.Core.Travel;

namespace School.Core.Diary.Cover;

/// <summary>A booked lesson that cannot take place as booked and looks for cover.</summary>
/// <param name="Id">The lesson; the same as in the diary of its instructor.</param>
/// <param name="InstructorId">Who was to teach it.</param>
/// <param name="Pupil">Its pupil, with all booked lessons of the week.</param>
/// <param name="During">When it is booked.</param>
/// <param name="PickUp">Where it begins.</param>
/// <param name="DropOff">Where it ends.</param>
/// <param name="Windows">Other times at which the pupil can come: the whole lesson must lie inside one of them, on its date.
/// Empty when it may only be taught at its own time, which is always allowed.</param>
public sealed record CoverLesson(
    Guid Id,
    Guid InstructorId,
    PupilFacts Pupil,
    Interval During,
    Coordinates PickUp,
    Coordinates DropOff,
    IReadOnlyList<Interval> Windows)
{
    /// <summary>What it is for.</summary>
    public LessonKind Kind { get; init; }

    /// <summary>Rests within it, in order; they stay where they are in it.</summary>
    public IReadOnlyList<LessonBreak> Breaks { get; init; } = [];

    /// <summary>The area that the pick-up lies in; null for none.</summary>
    public Guid? PickUpAreaId { get; init; }

    internal int BreakMinutes => Breaks.Sum(rest => rest.Minutes);

    internal bool IsBoundOn(LocalDate date) => Kind == LessonKind.Motorway && MotorwayRule.Binds(Pupil, date);
}

/// <summary>Who may cover what.</summary>
/// <param name="Picture">The diaries of everybody who may take a lesson, as they will be: the instructor's time off or the
/// car's time off the road is in it already. A car is held by one instructor at a time. Whether the lessons to cover still
/// stand in it makes no difference.</param>
/// <param name="Lessons">The lessons to cover; at most <see cref="CoverSearch.MostLessonsADay"/> on one date.</param>
public sealed record CoverProblem(DiaryPicture Picture, IReadOnlyList<CoverLesson> Lessons);

/// <summary>What a proposal costs, compared from left to right.</summary>
/// <param name="Uncovered">Lessons that nobody takes.</param>
/// <param name="Moved">Lessons at another time than booked.</param>
/// <param name="MinutesMoved">By how many minutes in all, parts rounded up.</param>
/// <param name="Changed">Lessons with another instructor than booked.</param>
/// <param name="AddedDriving">Minutes of driving added to the days of those who take lessons; a day that gets shorter counts 0.</param>
public readonly record struct CoverCost(int Uncovered, int Moved, int MinutesMoved, int Changed, int AddedDriving) : IComparable<CoverCost>
{
    /// <inheritdoc/>
    public int CompareTo(CoverCost other) =>
        (Uncovered, Moved, MinutesMoved, Changed, AddedDriving).CompareTo(
            (other.Uncovered, other.Moved, other.MinutesMoved, other.Changed, other.AddedDriving));

    /// <summary>Both together.</summary>
    public static CoverCost operator +(CoverCost left, CoverCost right) => left.Add(right);

    /// <summary>Both together.</summary>
    public CoverCost Add(CoverCost other) => new(
        Uncovered + other.Uncovered,
        Moved + other.Moved,
        MinutesMoved + other.MinutesMoved,
        Changed + other.Changed,
        AddedDriving + other.AddedDriving);

    /// <summary>Whether the left costs less.</summary>
    public static bool operator <(CoverCost left, CoverCost right) => left.CompareTo(right) < 0;

    /// <summary>Whether the left costs more.</summary>
    public static bool operator >(CoverCost left, CoverCost right) => left.CompareTo(right) > 0;

    /// <summary>Whether the left costs no more.</summary>
    public static bool operator <=(CoverCost left, CoverCost right) => left.CompareTo(right) <= 0;

    /// <summary>Whether the left costs no less.</summary>
    public static bool operator >=(CoverCost left, CoverCost right) => left.CompareTo(right) >= 0;
}

/// <summary>Where a lesson goes.</summary>
/// <param name="InstructorId">Who teaches it.</param>
/// <param name="Start">When it starts.</param>
/// <param name="CarId">In which car.</param>
public sealed record CoverPlace(Guid InstructorId, Instant Start, Guid CarId);

/// <summary>What is proposed for one lesson.</summary>
/// <param name="LessonId">The lesson.</param>
/// <param name="Place">Where it goes; null when nobody can take it.</param>
/// <param name="WhyNot">For a lesson that nobody takes: why each one in the picture cannot at its own time, with the rest of
/// the proposal in place.</param>
public sealed record CoverLine(Guid LessonId, CoverPlace? Place, IReadOnlyList<CoverObstacle> WhyNot);

/// <summary>Why one instructor cannot take a lesson at its own time.</summary>
/// <param name="InstructorId">The instructor.</param>
/// <param name="Refusal">The first rule against it.</param>
public sealed record CoverObstacle(Guid InstructorId, SlotRefusal Refusal);

/// <summary>A proposal for all lessons of a problem.</summary>
/// <param name="Lines">One for each lesson, in the order of the problem.</param>
/// <param name="Cost">What it costs.</param>
/// <param name="Bound">What every proposal costs at least. Equal to <paramref name="Cost"/> when that is proven the least.</param>
public sealed record CoverProposal(IReadOnlyList<CoverLine> Lines, CoverCost Cost, CoverCost Bound)
{
    /// <summary>Whether nothing can be better.</summary>
    public bool IsProven => Cost == Bound;
}

/// <summary>How far a search has come.</summary>
/// <param name="Done">Diaries gone through.</param>
/// <param name="Of">Of how many at most.</param>
public readonly record struct CoverProgress(int Done, int Of);
