using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.Pupils;

internal sealed class ChangePupil(SchoolDb db, OwnPupils own, SchoolInfo school, PlaceFinder places, InstructorBook instructors, Sealer sealer, Audit audit, IClock clock)
{
    public Task<Outcome<Pupil>> RunAsync(Viewer viewer, Guid id, PupilInput input, int? expected, CancellationToken cancel) => db.InTransactionAsync<Pupil>(async cancel =>
    {
        var taken = await db.Set<Pupil>().TakeAsync(id, expected, "pupil", cancel);
        if (!taken.Ok)
        {
            return taken;
        }

        if (await own.RefuseAsync(viewer, id, cancel) is { } notYours)
        {
            return notYours;
        }

        var pupil = taken.Value;
        var (born, instructor) = (pupil.BirthDate, pupil.UsualInstructorId);
        var errors = new FieldErrors();
        var looked = input with { PickUp = await places.LookAsync(input.PickUp, id, viewer, cancel) };
        looked.Into(pupil, errors, (await school.GetAsync(cancel)).Today(clock), viewer.PersonId);
        if (pupil.BirthDate is { } changed && changed != born
            && DriverNumber.TryParse(sealer.Open(pupil.DriverNumberSealed), out var number, out _)
            && !number.AgreesWith(changed))
        {
            errors.Add(nameof(input.BirthDate), "This is not the birth date written in the pupil's driver number. Check both against the licence.");
        }

        // Somebody who left may stay the usual instructor, but cannot become it.
        if (pupil.UsualInstructorId != instructor)
        {
            await errors.CheckUsualInstructorAsync(pupil, instructors, cancel);
        }

        if (errors.ToRefusal() is { } refusal)
        {
            return refusal;
        }

        audit.NoteFields(viewer, "pupil.change", id, "Changed the pupil", pupil);
        return pupil;
    }, cancel);
}
