using NodaTime;
using School.Core.Diary.Charges;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>Notes, in the transaction of the change, that a lesson or a test has left its time; a job offers it afterwards.</summary>
internal sealed class FreedSlots(SchoolDb db, PictureLoader pictures, SchoolInfo school, IClock clock)
{
    /// <summary>A time that is past or whose instructor or car cannot be there is nobody's to have.</summary>
    public void Note(Guid pupilId, Guid instructorId, Interval was, ChargeCause because = ChargeCause.Pupil)
    {
        var now = clock.GetCurrentInstant();
        if (was.Start > now && because is ChargeCause.Pupil or ChargeCause.School)
        {
            db.Add(new FreedSlot { InstructorId = instructorId, StartsAt = was.Start, EndsAt = was.End, FreedAt = now, FreedByPupilId = pupilId });
        }
    }

    /// <summary>The same for a test day that is taken off, moved or given to somebody else, and for a lesson that became shorter: lessons of the shortest length offered, as many as fit.</summary>
    /// <param name="pupilId">Whose test or lesson it is.</param>
    /// <param name="instructorId">Who was to go along; without anybody nothing comes free.</param>
    /// <param name="was">What the diary was kept free for.</param>
    /// <param name="still">What it takes of the same instructor now.</param>
    /// <param name="cancel">Cancels.</param>
    public async Task NoteRestAsync(Guid pupilId, Guid? instructorId, Interval was, Interval? still, CancellationToken cancel)
    {
        if (instructorId is not { } instructor)
        {
            return;
        }

        var rules = await pictures.RulesAsync(cancel);
        foreach (var piece in FreedTime.Pieces(was, still, rules.ShortestElapsed(), rules.GridMinutes, (await school.GetAsync(cancel)).Zone))
        {
            Note(pupilId, instructor, piece);
        }
    }
}
