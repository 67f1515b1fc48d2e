using NodaTime;
using School.Web.Modules.Diary.Lessons;

namespace School.Web.Modules.Diary.Mail;

internal enum MadeKind
{
    Booked,
    Moved,
    Cancelled,
}

/// <summary>One lesson that was booked, moved or cancelled.</summary>
/// <param name="Lesson">As it is now.</param>
/// <param name="Kind">Booked, moved or cancelled.</param>
/// <param name="From">When it was before.</param>
/// <param name="FormerInstructorId">Who gave it before.</param>
/// <param name="Waits">The pupil stands on the waiting list now.</param>
internal sealed record ChangeMade(Lesson Lesson, MadeKind Kind, Interval From, Guid FormerInstructorId, bool Waits = false)
{
    /// <summary>Another car alone is told to nobody.</summary>
    public bool IsTold => Kind is not MadeKind.Moved || From != Lesson.During || FormerInstructorId != Lesson.InstructorId;

    public bool IsHandedOver => Kind is MadeKind.Moved && FormerInstructorId != Lesson.InstructorId;
}

/// <summary>A pupil who goes to another instructor for good.</summary>
/// <param name="ProposalId">The hand-over.</param>
/// <param name="PupilId">Who goes.</param>
/// <param name="InstructorId">To whom.</param>
/// <param name="FormerInstructorId">From whom, where the pupil usually learned with somebody.</param>
/// <param name="From">From which day on.</param>
/// <param name="Stays">Coming lessons that stay with whom they are.</param>
internal sealed record HandedOver(Guid ProposalId, Guid PupilId, Guid InstructorId, Guid? FormerInstructorId, LocalDate From, IReadOnlyList<(Interval During, Guid InstructorId)> Stays);

/// <summary>All that one act has done to lessons, gathered so that everybody gets one letter about it.</summary>
internal sealed class ChangesMade
{
    private readonly List<ChangeMade> all = [];

    public IReadOnlyList<ChangeMade> All => all;

    /// <summary>The pupil who goes to another instructor for good, where that is what was done; then the letters are about that.</summary>
    public HandedOver? HandedOver { get; set; }

    public IReadOnlyList<Lesson> Lessons => [.. all.Select(change => change.Lesson).OrderBy(lesson => lesson.StartsAt)];

    public void Booked(Lesson lesson) => all.Add(new(lesson, MadeKind.Booked, lesson.During, lesson.InstructorId));

    public void Moved(MovedLesson moved) => all.Add(new(moved.Lesson, MadeKind.Moved, moved.From, moved.FormerInstructorId));

    public void Cancelled(Lesson lesson, bool waits = false) => all.Add(new(lesson, MadeKind.Cancelled, lesson.During, lesson.InstructorId, waits));
}
