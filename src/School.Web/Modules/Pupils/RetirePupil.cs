using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>The pupil takes no more lessons and signs in no more; everything that was taught and noted stays.</summary>
internal sealed class RetirePupil(SchoolDb db, SchoolInfo school, LessonBook lessons, SignIns signIns, Audit audit, IClock clock)
{
    public Task<Outcome<Pupil>> RunAsync(Viewer viewer, Guid id, int? expected, CancellationToken cancel) => db.InTransactionAsync<Pupil>(async cancel =>
    {
        var taken = await db.Set<Pupil>().TakeAsync(id, expected, "pupil", cancel);
        if (taken is not { Value: { RetiredOn: null } pupil })
        {
            return taken;
        }

        if (await lessons.AheadAsync(cancel, pupilId: id) is { Any: true } ahead)
        {
            return ahead.Refuse($"This pupil has {ahead.What} ahead. {ahead.EndThem}, then retire the pupil.");
        }

        pupil.RetiredOn = (await school.GetAsync(cancel)).Today(clock);
        audit.Note(viewer, "pupil.retire", id, "Let the pupil leave.");
        var signIn = await signIns.OfPupilAsync(id, cancel);
        if (signIn is { PersonId: { } person, State: not SignInState.Closed } && await signIns.CloseAsync(viewer, person, cancel) is { Ok: false } refused)
        {
            return refused.Refusal;
        }

        return pupil;
    }, cancel);
}
