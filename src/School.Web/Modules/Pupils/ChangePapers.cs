using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>The licence (left as it is where none is sent), the date of birth where it is still to be asked, the day the theory test was passed, and the day the school last looked at the driving record; none where not seen.</summary>
internal sealed record PapersInput(LocalDate? TheoryPassedOn, LocalDate? LicenceCheckedOn, LicenceInput? Licence = null, LocalDate? BirthDate = null)
{
    private const int YearsBack = 10;

    public void Into(Pupil pupil, FieldErrors errors, LocalDate today, Guid? by)
    {
        if (BirthDate is { } asked && pupil.BirthDate is null)
        {
            // It stands on the licence, and whoever sees that enters both.
            var problem = PupilInput.BirthDateProblem(asked, today);
            errors.When(problem is not null, nameof(BirthDate), problem ?? "");
            pupil.BirthDate = problem is null ? asked : null;
        }
        else
        {
            errors.When(BirthDate is not null && BirthDate != pupil.BirthDate, nameof(BirthDate), "Another date of birth is known of the pupil. Whoever keeps the pupils changes it on their page.");
        }

        var earliest = pupil.BirthDate is { } born ? TheoryCertificate.Earliest(born, pupil.MobilityAward) : (LocalDate?)null;
        errors.When(TheoryPassedOn > today, nameof(TheoryPassedOn), "This day is still to come. Enter it once the theory test is passed.")
            .When(TheoryPassedOn < today.PlusYears(-YearsBack), nameof(TheoryPassedOn), $"This is more than {YearsBack} years ago. Check the year.")
            .When(
                TheoryPassedOn < earliest && TheoryPassedOn >= today.PlusYears(-YearsBack), nameof(TheoryPassedOn),
                "On this day the pupil was too young for the theory test (17; 16 with the mobility part of PIP). Check it, and the date of birth.")
            .When(LicenceCheckedOn > today, nameof(LicenceCheckedOn), "This day is still to come. Enter it once you have looked.")
            .When(LicenceCheckedOn < today.PlusYears(-YearsBack), nameof(LicenceCheckedOn), $"This is more than {YearsBack} years ago. Look again, then enter that day.");
        if (Licence is not null)
        {
            pupil.Take(Licence.Read(errors, nameof(Licence), pupil.BirthDate, today), today, by);
        }

        if (TheoryPassedOn != pupil.TheoryPassedOn)
        {
            (pupil.TheorySeenOn, pupil.TheorySeenBy) = TheoryPassedOn is null ? ((LocalDate?)null, (Guid?)null) : (today, by);
        }

        (pupil.TheoryPassedOn, pupil.LicenceCheckedOn) = (TheoryPassedOn, LicenceCheckedOn);
    }
}

internal sealed class ChangePapers(SchoolDb db, OwnPupils own, SchoolInfo school, Audit audit, IClock clock)
{
    /// <param name="id">The pupil.</param>
    /// <param name="version">The version that was looked at; null for any.</param>
    /// <param name="input">What is entered, both at once.</param>
    /// <param name="cancel">Stops.</param>
    public Task<Outcome<Pupil>> RunAsync(Viewer viewer, Guid id, PapersInput input, int? expected, CancellationToken cancel) => db.InTransactionAsync<Pupil>(async cancel =>
    {
        if (await own.IfThereAsync(await own.RefuseAsync(viewer, id, cancel), id, cancel) is { } notYours)
        {
            return notYours;
        }

        var taken = await db.Set<Pupil>().TakeAsync(id, expected, "pupil", cancel);
        if (!taken.Ok)
        {
            return taken;
        }

        var (pupil, errors) = (taken.Value, new FieldErrors());
        var before = pupil.LicenceCheckedOn;
        input.Into(pupil, errors, (await school.GetAsync(cancel)).Today(clock), viewer.PersonId);
        if (errors.ToRefusal() is { } refusal)
        {
            return refusal;
        }

        if (pupil.LicenceCheckedOn != before)
        {
            pupil.LicenceCheckedBy = pupil.LicenceCheckedOn is null ? null : viewer.PersonId;
        }

        audit.NoteFields(viewer, "pupil.papers.change", id, "Changed the papers", pupil);
        return pupil;
    }, cancel);
}
