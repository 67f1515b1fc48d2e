using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>
/// Whose pupils are whose. The office keeps everybody's; an instructor keeps those who usually learn with them, and those with whom they have a
/// lesson from a week ago to a week ahead, which those they cover are among; a pupil keeps their own.
/// </summary>
internal sealed class OwnPupils(SchoolDb db, IPupilDiary diary, SchoolInfo school, IClock clock)
{
    public const int DaysEachWay = 7;

    public static readonly Refusal NotYours = new(
        RefusalKind.NotAllowed, "not_your_pupil",
        $"This pupil usually learns with somebody else, and you have no lesson with them within {DaysEachWay} days. Ask the office, or whoever teaches them.");

    /// <summary>Null where what is kept of the pupil is the viewer's to read and change. Whether there is such a pupil is for the caller to have asked.</summary>
    public Task<Refusal?> RefuseAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) =>
        RefuseAsync(viewer, pupilId, viewer.Parts.Holds(OfficePart.People) || viewer.Parts.Holds(OfficePart.Diary), cancel);

    /// <summary>The same for what is kept under seal, which is its own part of the office.</summary>
    public Task<Refusal?> RefuseSealedAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) =>
        RefuseAsync(viewer, pupilId, viewer.Parts.Holds(OfficePart.Confidential), cancel);

    private async Task<Refusal?> RefuseAsync(Viewer viewer, Guid pupilId, bool ofOffice, CancellationToken cancel)
    {
        if (ofOffice || viewer.PupilId == pupilId)
        {
            return null;
        }

        if (viewer.InstructorId is not { } instructor)
        {
            return NotYours;
        }

        if (await db.Set<Pupil>().AnyAsync(p => p.Id == pupilId && p.UsualInstructorId == instructor, cancel))
        {
            return null;
        }

        var facts = await school.GetAsync(cancel);
        var today = facts.Today(clock);
        var around = new Interval(
            today.PlusDays(-DaysEachWay).AtStartOfDayInZone(facts.Zone).ToInstant(), today.PlusDays(DaysEachWay + 1).AtStartOfDayInZone(facts.Zone).ToInstant());
        return await diary.TeachesAsync(instructor, pupilId, around, cancel) ? null : NotYours;
    }
}
