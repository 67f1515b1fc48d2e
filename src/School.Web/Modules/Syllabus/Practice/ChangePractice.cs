using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Practice;

/// <summary>Changes a logged drive.</summary>
internal sealed class ChangePractice(SchoolDb db, PracticeRules rules, Audit audit)
{
    /// <param name="viewer">Who asks.</param>
    /// <param name="pupilId">Whose it must be; null where the address names the drive alone.</param>
    /// <param name="id">Which drive.</param>
    /// <param name="input">What it becomes.</param>
    /// <param name="expected">The version that was looked at.</param>
    /// <param name="cancel">Stops.</param>
    public Task<Outcome<PrivatePractice>> RunAsync(Viewer viewer, Guid? pupilId, Guid id, PracticeInput input, int? expected, CancellationToken cancel) =>
        db.InTransactionAsync<PrivatePractice>(
            async cancel =>
            {
                var rows = db.Set<PrivatePractice>().VisibleTo(viewer).Where(p => pupilId == null || p.PupilId == pupilId);
                // Whose it is never changes. All else is read once nobody else can change it.
                if (await rows.Where(p => p.Id == id).Select(p => (Guid?)p.PupilId).SingleOrDefaultAsync(cancel) is not { } whose)
                {
                    return Refusal.NotFound("drive");
                }

                await db.LockAsync([PracticeRules.LockOf(whose)], cancel);
                var taken = await rows.TakeAsync(id, expected, "drive", cancel);
                if (!taken.Ok)
                {
                    return taken;
                }

                var read = await rules.ReadAsync(viewer, whose, id, input, cancel);
                if (!read.Ok)
                {
                    return read.Refusal;
                }

                await rules.TakeAsync(viewer, taken.Value, read.Value, cancel);
                audit.NoteFields(viewer, "practice.change", id, "Changed a drive between lessons", taken.Value);
                return taken;
            },
            cancel);
}
