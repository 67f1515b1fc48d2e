using Microsoft.EntityFrameworkCore;
using School.Core;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Places;

/// <summary>A place of the school as a form or the API sends it.</summary>
internal sealed record SchoolPlaceInput([property: Needed] PlaceKind? Kind = null, [property: Needed] PlaceInput? At = null)
{
    /// <summary>The place, or null with what is wrong.</summary>
    public Place? Read(FieldErrors errors, PlaceInput? looked, Place? before = null)
    {
        errors.When(Kind is null, nameof(Kind), "Say what kind of place it is.");
        errors.When(looked?.PlaceId is not null, $"{nameof(At)}.{nameof(PlaceInput.PlaceId)}", "Say where the place is: a postcode or a position.");
        return errors.ReadPlace(nameof(At), looked, before);
    }
}

/// <summary>Adds a place to those that the school knows.</summary>
internal sealed class AddPlace(SchoolDb db, PlaceFinder places, Audit audit)
{
    public Task<Outcome<SchoolPlace>> RunAsync(Viewer viewer, SchoolPlaceInput input, CancellationToken cancel) => db.InTransactionAsync<SchoolPlace>(async cancel =>
    {
        await db.LockAsync(["school places"], cancel);
        var errors = new FieldErrors();
        var place = input.Read(errors, await places.LookAsync(input.At, null, viewer, cancel));
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        if (await db.Set<SchoolPlace>().CountAsync(cancel) >= SchoolPlace.Most)
        {
            return Refusal.Rule("too_many_places", $"The school has {SchoolPlace.Most} places. Remove one that nobody uses.");
        }

        var row = db.Add(new SchoolPlace { Kind = input.Kind!.Value, At = place! }).Entity;
        audit.Note(viewer, "place.add", row.Id, $"Added the place {row.At.Label}.");
        return row;
    }, cancel);
}

/// <summary>Changes a place of the school; lessons that were booked there keep theirs.</summary>
internal sealed class ChangePlace(SchoolDb db, PlaceFinder places, Audit audit)
{
    public Task<Outcome<SchoolPlace>> RunAsync(Viewer viewer, Guid id, SchoolPlaceInput input, int? expected, CancellationToken cancel) => db.InTransactionAsync<SchoolPlace>(
        async cancel =>
        {
            var taken = await db.Set<SchoolPlace>().TakeAsync(id, expected, "place", cancel);
            if (!taken.Ok)
            {
                return taken;
            }

            var (row, errors) = (taken.Value, new FieldErrors());
            var place = input.Read(errors, await places.LookAsync(input.At, null, viewer, cancel), row.At);
            if (errors.ToRefusal() is { } invalid)
            {
                return invalid;
            }

            (row.Kind, row.At) = (input.Kind!.Value, place!);
            audit.NoteValues(viewer, "place.change", id, $"Changed the place {row.At.Label}", row);
            return row;
        },
        cancel);
}

/// <summary>Takes a place off the list; lessons that were booked there keep theirs.</summary>
internal sealed class RemovePlace(SchoolDb db, Audit audit)
{
    public Task<Outcome<SchoolPlace>> RunAsync(Viewer viewer, Guid id, int? expected, CancellationToken cancel) => db.InTransactionAsync<SchoolPlace>(
        async cancel =>
        {
            var taken = await db.Set<SchoolPlace>().TakeAsync(id, expected, "place", cancel);
            if (taken.Ok)
            {
                db.Remove(taken.Value);
                audit.Note(viewer, "place.remove", null, $"Removed the place {taken.Value.At.Label}.");
            }

            return taken;
        },
        cancel);
}
