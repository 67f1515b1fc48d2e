using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Practice;

/// <summary>Removes a logged drive.</summary>
internal sealed class RemovePractice(SchoolDb db, OwnPupils own, Audit audit)
{
    /// <param name="viewer">Who asks.</param>
    /// <param name="pupilId">Whose it must be; null where the address names the drive alone.</param>
    /// <param name="id">Which drive.</param>
    /// <param name="expected">The version that was looked at; null for any.</param>
    /// <param name="cancel">Stops.</param>
    public Task<Outcome<PrivatePractice>> RunAsync(Viewer viewer, Guid? pupilId, Guid id, int? expected, CancellationToken cancel) => db.InTransactionAsync<PrivatePractice>(
        async cancel =>
        {
            var taken = await db.Set<PrivatePractice>().VisibleTo(viewer).Where(p => pupilId == null || p.PupilId == pupilId).TakeAsync(id, expected, "drive", cancel);
            if (taken.Ok && await own.RefuseAsync(viewer, taken.Value.PupilId, cancel) is { } notYours)
            {
                return notYours;
            }

            if (taken.Ok)
            {
                db.Remove(taken.Value);
                audit.Note(viewer, "practice.remove", id, $"Removed a drive between lessons: {taken.Value.Minutes} minutes on {taken.Value.On:uuuu-MM-dd}.");
            }

            return taken;
        },
        cancel);
}
