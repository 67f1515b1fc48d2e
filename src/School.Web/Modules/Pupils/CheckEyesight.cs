using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Pupils;

/// <summary>The day on which the pupil read a number plate at 20 metres (the Highway Code, rule 92), or could not.</summary>
internal sealed record EyesightInput([property: Needed] LocalDate? On, bool Passed = true);

internal sealed class CheckEyesight(SchoolDb db, OwnPupils own, SchoolInfo school, Audit audit, IClock clock)
{
    public Task<Outcome<Pupil>> RunAsync(Viewer viewer, Guid id, EyesightInput input, CancellationToken cancel) => db.InTransactionAsync<Pupil>(async cancel =>
    {
        var pupil = await db.Set<Pupil>().SingleOrDefaultAsync(p => p.Id == id, cancel);
        if (pupil is null)
        {
            return Refusal.NotFound("pupil");
        }

        if (await own.RefuseAsync(viewer, id, cancel) is { } notYours)
        {
            return notYours;
        }

        var today = (await school.GetAsync(cancel)).Today(clock);
        var wrong = new FieldErrors()
            .When(input.On is null, nameof(input.On), "Enter the day of the check.")
            .When(input.On > today, nameof(input.On), "The day of the check lies in the future.")
            .When(input.On < today.PlusYears(-5), nameof(input.On), "This is more than five years ago. Check again, then enter that day.")
            .When(input.Passed && input.On < pupil.EyesightFailedOn, nameof(input.On), $"A later check, on {Of(pupil.EyesightFailedOn)}, was failed. Enter one that was passed since.")
            .When(!input.Passed && input.On < pupil.EyesightCheckedOn, nameof(input.On), $"A later check, on {Of(pupil.EyesightCheckedOn)}, was passed. Enter one made since.")
            .ToRefusal();
        if (wrong is not null)
        {
            return wrong;
        }

        (pupil.EyesightCheckedOn, pupil.EyesightFailedOn) = input.Passed ? (input.On, null) : ((LocalDate?)null, input.On);
        pupil.EyesightCheckedBy = viewer.PersonId;
        audit.Note(viewer, "pupil.eyesight.check", id, input.Passed ? "Recorded the eyesight check." : "Recorded a failed eyesight check.");
        return pupil;
    }, cancel);

    private static string Of(LocalDate? day) => day is { } on ? ScreenWords.DayAndYear(on) : "";
}
