using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.Pupils;

internal sealed class AddPupil(SchoolDb db, SchoolInfo school, PlaceFinder places, InstructorBook instructors, Sealer sealer, Audit audit, IClock clock)
{
    public Task<Outcome<Pupil>> RunAsync(Viewer viewer, NewPupilInput input, CancellationToken cancel) => db.InTransactionAsync<Pupil>(async cancel =>
    {
        var pupil = Pupil.Blank();
        var errors = new FieldErrors();
        var looked = input with { PickUp = await places.LookAsync(input.PickUp, null, viewer, cancel) };
        looked.Into(pupil, errors, (await school.GetAsync(cancel)).Today(clock), viewer.PersonId);
        new GuardedInput(input.DriverNumber, input.HealthNotes).Into(pupil, errors, sealer);
        await errors.CheckUsualInstructorAsync(pupil, instructors, cancel);
        if (errors.ToRefusal() is { } refusal)
        {
            return refusal;
        }

        audit.Note(viewer, "pupil.add", pupil.Id, "Added the pupil.");
        return db.Add(pupil).Entity;
    }, cancel);
}

internal static class UsualInstructor
{
    public static async Task CheckUsualInstructorAsync(this FieldErrors errors, Pupil pupil, InstructorBook instructors, CancellationToken cancel)
    {
        if (pupil.UsualInstructorId is { } id && await instructors.FindAsync(id, cancel) is not { RetiredOn: null })
        {
            errors.Add(nameof(PupilInput.UsualInstructorId), "Choose an instructor of the school, or none.");
        }
    }
}
