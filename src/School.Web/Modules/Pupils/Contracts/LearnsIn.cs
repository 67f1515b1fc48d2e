using Microsoft.EntityFrameworkCore;
using School.Core.Cars;
using School.Core.Pupils;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>The gearbox of somebody of whom it is still to be asked: settled with their first booking.</summary>
internal sealed class LearnsIn(SchoolDb db, Audit audit)
{
    /// <summary>The pupil with the gearbox that was said, or the only one that those who might teach them teach in; as they are where neither tells.</summary>
    /// <param name="pupil">The pupil.</param>
    /// <param name="said">What was said in booking; null where nothing was.</param>
    /// <param name="taught">What each of those who might teach them teaches in.</param>
    public static PupilCard Settled(PupilCard pupil, Gearbox? said, IEnumerable<IReadOnlyCollection<Gearbox>> taught) =>
        !pupil.Missing.HasFlag(FirstLessonNeeds.Gearbox) ? pupil
        : said is { } known ? pupil.LearningIn(known)
        : taught.SelectMany(each => each).Distinct().Take(2).ToList() is [var only] ? pupil.LearningIn(only)
        : pupil;

    /// <summary>Keeps it where it is still to be asked, in the caller's transaction and under its lock of the pupil.</summary>
    public async Task KeepAsync(Viewer viewer, PupilCard pupil, CancellationToken cancel)
    {
        if (await db.Set<Pupil>().SingleOrDefaultAsync(p => p.Id == pupil.Id && p.Gearbox == null, cancel) is { } row)
        {
            row.Gearbox = pupil.Gearbox;
            audit.NoteValues(viewer, "pupil.gearbox", pupil.Id, "Booked the first lesson, and so settled the gearbox", row);
        }
    }
}
