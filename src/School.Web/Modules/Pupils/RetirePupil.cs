using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>The pupil takes no more lessons and signs in no more; everything that was taught and noted stays.</summary>
internal sealed class RetirePupil(SchoolDb db, SchoolInfo school, Ahead ahead, SignIns signIns, Audit audit, IClock clock)
{
    public Task<Outcome<Pupil>> RunAsync(Viewer viewer, Guid id, int? expected, CancellationToken cancel) => db.InTransactionAsync<Pupil>(async cancel =>
    {
        var taken = await db.Set<Pupil>().TakeAsync(id, expected, "pupil", cancel);
        if (taken is not { Value: { RetiredOn: null } pupil })
        {
            return taken;
        }

        if (await ahead.AskAsync(new(PupilId: id), cancel) is { Any: true } booked)
        {
            return booked.Refuse($"This pupil has {booked.What} ahead. {booked.EndThem}, then retire the pupil.");
        }

        pupil.RetiredOn = (await school.GetAsync(cancel)).Today(clock);
        audit.Note(viewer, "pupil.retire", id, "Let the pupil leave.");
        var signIn = await signIns.OfPupilAsync(id, cancel);
        if (signIn is { PersonId: { } person, State: not SignInState.Closed } && await signIns.TakeOffAsync(viewer, person, Hat.Pupil, cancel) is { } refused)
        {
            return refused;
        }

        return pupil;
    }, cancel);
}
