using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Practice;

/// <summary>A drive to log.</summary>
/// <param name="Id">The id that a form gave it, so that a press too many adds nothing.</param>
/// <param name="Drive">The drive.</param>
internal sealed record NewPractice(PracticeInput Drive, Guid? Id = null);

/// <summary>Logs a drive between lessons: a pupil their own, the staff any pupil's for them.</summary>
internal sealed class AddPractice(SchoolDb db, PracticeRules rules)
{
    public Task<Outcome<PrivatePractice>> RunAsync(Viewer viewer, Guid pupilId, NewPractice request, CancellationToken cancel) => db.InTransactionAsync<PrivatePractice>(
        async cancel =>
        {
            await db.LockAsync([PracticeRules.LockOf(pupilId)], cancel);
            var known = request.Id is { } id ? await db.Set<PrivatePractice>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == id, cancel) : null;
            if (known?.PupilId == pupilId && (viewer.KeepsLearning || viewer.PupilId == pupilId))
            {
                return known;
            }

            var read = await rules.ReadAsync(viewer, pupilId, null, request.Drive, cancel);
            if (!read.Ok)
            {
                return read.Refusal;
            }

            var drive = new PrivatePractice
            {
                Id = known is null && request.Id is { } given ? given : RowId.New(),
                PupilId = pupilId,
                On = default,
                Minutes = 0,
                Supervisor = "",
                Edition = 0,
                LoggedAt = default,
                LoggedBy = "",
            };
            await rules.TakeAsync(viewer, drive, read.Value, cancel);
            return db.Add(drive).Entity;
        },
        cancel);
}
