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
internal sealed class RetirePupil(SchoolDb db, SchoolInfo school, Ahead ahead, SignIns signIns, Audit audit, Viewer viewer, IClock clock)
{
    public Task<Outcome<Pupil>> RunAsync(Guid id, int? expectedVersion, CancellationToken cancel) => db.InTransactionAsync<Pupil>(async cancel =>
    {
        var pupil = await db.Set<Pupil>().SingleOrDefaultAsync(p => p.Id == id, cancel);
        if (pupil is null)
        {
            return Refusal.NotFound("pupil");
        }

        if (expectedVersion is { } version && version != pupil.Version)
        {
            return Refusal.Stale;
        }

        if (pupil.RetiredOn is not null)
        {
            return pupil;
        }

        if (await ahead.AskAsync(new(PupilId: id), cancel) is { Any: true } booked)
        {
            return booked.Refuse($"This pupil has {booked.What} ahead. {booked.EndThem}, then retire the pupil.");
        }

        pupil.RetiredOn = (await school.GetAsync(cancel)).Today(clock);
        audit.Note(viewer, "pupil.retire", id, "Let the pupil leave.");
        var signIn = await signIns.OfPupilAsync(id, cancel);
        if (signIn is { PersonId: { } person, State: not SignInState.Closed } && await signIns.CloseAsync(person, cancel) is { Ok: false } refused)
        {
            return refused.Refusal;
        }

        return pupil;
    }, cancel);

    /// <summary>Takes a pupil back who had left; they sign in again once they are invited anew.</summary>
    public Task<Outcome<Pupil>> TakeBackAsync(Guid id, int? expectedVersion, CancellationToken cancel) => db.InTransactionAsync<Pupil>(async cancel =>
    {
        if (await db.Set<Pupil>().SingleOrDefaultAsync(p => p.Id == id, cancel) is not { } pupil)
        {
            return Refusal.NotFound("pupil");
        }

        if (expectedVersion is { } version && version != pupil.Version)
        {
            return Refusal.Stale;
        }

        if (pupil.RetiredOn is not null)
        {
            pupil.RetiredOn = null;
            audit.Note(viewer, "pupil.take_back", id, "Took the pupil back.");
        }

        return pupil;
    }, cancel);
}
