using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>The day on which the pupil read a number plate at 20 metres (the Highway Code, rule 92).</summary>
internal sealed record EyesightInput([property: Needed] LocalDate? On);

internal sealed class CheckEyesight(SchoolDb db, SchoolInfo school, Audit audit, IClock clock)
{
    public Task<Outcome<Pupil>> RunAsync(Viewer viewer, Guid id, EyesightInput input, CancellationToken cancel) => db.InTransactionAsync<Pupil>(async cancel =>
    {
        var pupil = await db.Set<Pupil>().SingleOrDefaultAsync(p => p.Id == id, cancel);
        if (pupil is null)
        {
            return Refusal.NotFound("pupil");
        }

        var today = (await school.GetAsync(cancel)).Today(clock);
        var wrong = new FieldErrors()
            .When(input.On is null, nameof(input.On), "Enter the day of the check.")
            .When(input.On > today, nameof(input.On), "The day of the check lies in the future.")
            .When(input.On < today.PlusYears(-5), nameof(input.On), "This is more than five years ago. Check again, then enter that day.")
            .ToRefusal();
        if (wrong is not null)
        {
            return wrong;
        }

        pupil.EyesightCheckedOn = input.On;
        pupil.EyesightCheckedBy = viewer.PersonId;
        audit.Note(viewer, "pupil.eyesight.check", id, "Recorded the eyesight check.");
        return pupil;
    }, cancel);
}
