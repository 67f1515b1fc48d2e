using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Pupils;

/// <summary>Opens contact, places and record of somebody else's pupil until midnight, for a reason that stays in the audit.</summary>
internal sealed class OpenByReason(SchoolDb db, OwnPupils own, SchoolInfo school, Audit audit, IClock clock)
{
    public static readonly Refusal NotNeeded = Refusal.Rule("reason_not_needed", "You see this pupil without giving a reason.");

    public static readonly Refusal TooMany = Refusal.Rule(
        "too_many_by_reason", $"You have opened {PupilAccess.MostADay} pupils of others today, and that is the most for one day. Ask the office.");

    public Task<Outcome<PupilAccess>> RunAsync(Viewer viewer, Guid id, AccessInput input, CancellationToken cancel) => db.InTransactionAsync<PupilAccess>(async cancel =>
    {
        await db.LockAsync([$"accesses:{viewer.PersonId}"], cancel);
        if (!await db.Set<Pupil>().VisibleTo(viewer).AnyAsync(p => p.Id == id, cancel))
        {
            return Refusal.NotFound("pupil");
        }

        if (await own.OfAsync(viewer, id, cancel) == Sight.Everything)
        {
            return NotNeeded;
        }

        var errors = new FieldErrors();
        var reason = errors.ReadReason(nameof(input.Reason), input.Reason, "Say why you need to see this pupil.");
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var (facts, now) = (await school.GetAsync(cancel), clock.GetCurrentInstant());
        var others = await db.Set<PupilAccess>().Where(a => a.PersonId == viewer.PersonId && a.Until > now && a.NumberOn == null && a.PupilId != id).Select(a => a.PupilId).Distinct().CountAsync(cancel);
        if (others >= PupilAccess.MostADay)
        {
            return TooMany;
        }

        var access = new PupilAccess
        {
            PupilId = id,
            PersonId = viewer.PersonId,
            ByName = viewer.Name,
            Reason = reason,
            At = now,
            Until = facts.Today(clock).PlusDays(1).AtStartOfDayInZone(facts.Zone).ToInstant(),
        };
        db.Add(access);
        audit.Note(viewer, "pupil.access", id, $"Opened contact, places and record of somebody else’s pupil until midnight. Reason: {reason}");
        return access;
    }, cancel);
}
