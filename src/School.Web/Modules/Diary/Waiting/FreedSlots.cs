using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>Notes, in the transaction of the change, that a lesson has left its time; a job offers it afterwards.</summary>
internal sealed class FreedSlots(SchoolDb db, IClock clock)
{
    /// <summary>A time that is past or whose instructor or car cannot be there is nobody's to have.</summary>
    public void Note(Guid pupilId, Guid instructorId, Interval was, CancelReason? because = null)
    {
        var now = clock.GetCurrentInstant();
        if (was.Start > now && because is null or CancelReason.Pupil or CancelReason.Other)
        {
            db.Add(new FreedSlot { InstructorId = instructorId, StartsAt = was.Start, EndsAt = was.End, FreedAt = now, FreedByPupilId = pupilId });
        }
    }
}
