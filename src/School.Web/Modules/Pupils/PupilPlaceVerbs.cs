using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>Which place of which pupil.</summary>
internal sealed record PupilPlaceAsked(Guid PupilId, PlaceInput? At);

/// <summary>Names a place of a pupil's own.</summary>
internal sealed class AddPupilPlace(SchoolDb db, OwnPupils own, PlaceFinder places, Audit audit)
{
    public Task<Outcome<PupilPlace>> RunAsync(Viewer viewer, Guid id, PlaceInput? input, CancellationToken cancel) => db.InTransactionAsync<PupilPlace>(async cancel =>
    {
        await db.LockAsync([LockOf(id)], cancel);
        if (await db.Set<Pupil>().AsNoTracking().Where(p => viewer.KeepsDiary || viewer.KeepsPupils || p.Id == viewer.PupilId).SingleOrDefaultAsync(p => p.Id == id, cancel) is not { } pupil)
        {
            return Refusal.NotFound("pupil");
        }

        if (await own.RefuseUnseenAsync(viewer, id, cancel) is { } unseen)
        {
            return unseen;
        }

        if (pupil.RetiredOn is not null)
        {
            return PupilRefusals.Left;
        }

        var errors = new FieldErrors();
        var place = errors.ReadPlace("", await places.LookAsync(input, id, viewer, cancel));
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        if (await db.Set<PupilPlace>().CountAsync(p => p.PupilId == id, cancel) >= PupilPlace.Most)
        {
            return Refusal.Rule("too_many_places", new($"This pupil has {PupilPlace.Most} places. Remove one first.", $"You have {PupilPlace.Most} places. Remove one first."));
        }

        audit.Note(viewer, "pupil.place.add", id, "Added a place.");
        return db.Add(new PupilPlace { PupilId = id, At = place! }).Entity;
    }, cancel);

    internal static string LockOf(Guid pupilId) => $"pupil places:{pupilId}";
}

/// <summary>Changes a place of a pupil's own; lessons that were booked there keep theirs.</summary>
internal sealed class ChangePupilPlace(SchoolDb db, OwnPupils own, PlaceFinder places, Audit audit)
{
    public Task<Outcome<PupilPlace>> RunAsync(Viewer viewer, Guid id, PupilPlaceAsked input, int? expected, CancellationToken cancel) => db.InTransactionAsync<PupilPlace>(
        async cancel =>
        {
            var taken = await db.Set<PupilPlace>().ChangeableBy(viewer, input.PupilId).TakeAsync(id, expected, "place", cancel);
            if (!taken.Ok)
            {
                return taken;
            }

            if (await own.RefuseUnseenAsync(viewer, input.PupilId, cancel) is { } unseen)
            {
                return unseen;
            }

            var errors = new FieldErrors();
            var place = errors.ReadPlace("", await places.LookAsync(input.At, input.PupilId, viewer, cancel), taken.Value.At);
            if (errors.ToRefusal() is { } invalid)
            {
                return invalid;
            }

            taken.Value.At = place!;
            audit.Note(viewer, "pupil.place.change", input.PupilId, "Changed a place.");
            return taken;
        },
        cancel);
}

/// <summary>Removes a place of a pupil's own; lessons that were booked there keep theirs.</summary>
internal sealed class RemovePupilPlace(SchoolDb db, OwnPupils own, Audit audit)
{
    public Task<Outcome<PupilPlace>> RunAsync(Viewer viewer, Guid id, PupilPlaceAsked input, int? expected, CancellationToken cancel) => db.InTransactionAsync<PupilPlace>(
        async cancel =>
        {
            var taken = await db.Set<PupilPlace>().ChangeableBy(viewer, input.PupilId).TakeAsync(id, expected, "place", cancel);
            if (taken.Ok && await own.RefuseUnseenAsync(viewer, input.PupilId, cancel) is { } unseen)
            {
                return unseen;
            }

            if (taken.Ok)
            {
                db.Remove(taken.Value);
                audit.Note(viewer, "pupil.place.remove", input.PupilId, "Removed a place.");
            }

            return taken;
        },
        cancel);
}

internal static class PupilPlaceRows
{
    public static IQueryable<PupilPlace> ChangeableBy(this IQueryable<PupilPlace> places, Viewer viewer, Guid pupilId) =>
        places.Where(p => p.PupilId == pupilId && (viewer.KeepsDiary || viewer.KeepsPupils || p.PupilId == viewer.PupilId));
}
