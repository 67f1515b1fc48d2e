using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>Contact details and pick-up place, changed by the pupil or the office.</summary>
internal sealed class ChangeContact(SchoolDb db, OwnPupils own, PlaceFinder places, Audit audit)
{
    public Task<Outcome<Pupil>> RunAsync(Viewer viewer, Guid id, ContactInput input, int? expected, CancellationToken cancel) => db.InTransactionAsync<Pupil>(async cancel =>
    {
        var taken = await db.Set<Pupil>().Where(p => viewer.KeepsPupils || p.Id == viewer.PupilId).TakeAsync(id, expected, "pupil", cancel);
        if (!taken.Ok)
        {
            return taken;
        }

        if (await own.RefuseUnseenAsync(viewer, id, cancel) is { } unseen)
        {
            return unseen;
        }

        var errors = new FieldErrors();
        (input with { PickUp = await places.LookAsync(input.PickUp, id, viewer, cancel) }).ContactInto(taken.Value, errors);
        // Their letters go there, and they sign in with it.
        errors.When(!viewer.KeepsPupils && !errors.Any && taken.Value.Email.Length == 0, nameof(input.Email), "Enter your e-mail address: lesson times are sent there.");
        if (errors.ToRefusal() is { } refusal)
        {
            return refusal;
        }

        audit.NoteFields(viewer, "pupil.contact.change", id, "Changed the contact details", taken.Value);
        return taken;
    }, cancel);
}
