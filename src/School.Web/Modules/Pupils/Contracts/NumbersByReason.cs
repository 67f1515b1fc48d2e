using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>
/// Telephone numbers on a list of pupils to ring, for one reason: to whoever gives it, until midnight, on that list and nowhere else. Each pupil has a line in the
/// audit and in what was opened by a reason; of the pupils that one may open a day none is used up, since whom there is to ring is not for the caller to choose.
/// </summary>
internal sealed class NumbersByReason(SchoolDb db, OwnPupils own, SchoolInfo school, Audit audit, IClock clock)
{
    public const int LongestReason = PupilAccess.LongestReason;

    private static readonly Refusal NotNeeded = Refusal.Rule("reason_not_needed", "You see all of these pupils without giving a reason.");

    /// <summary>Of whom the viewer has opened the number on a list.</summary>
    public async Task<IReadOnlySet<Guid>> OpenAsync(Viewer viewer, Guid list, CancellationToken cancel)
    {
        var (person, now) = (viewer.PersonId, clock.GetCurrentInstant());
        return await db.Set<PupilAccess>().Where(a => a.PersonId == person && a.Until > now && a.NumberOn == list).Select(a => a.PupilId).ToHashSetAsync(cancel);
    }

    /// <summary>Opens the numbers of those whom the viewer sees by name alone, in the caller's transaction.</summary>
    /// <param name="viewer">Who asks.</param>
    /// <param name="list">The list on which they are told.</param>
    /// <param name="field">The field of the reason.</param>
    /// <param name="reason">Why.</param>
    /// <param name="pupilIds">Those on the list.</param>
    /// <param name="about">What is done with it, for the audit: "ring about lessons that were stopped".</param>
    /// <param name="cancel">Stops.</param>
    public async Task<Refusal?> OpenAsync(Viewer viewer, Guid list, string field, string? reason, IReadOnlyCollection<Guid> pupilIds, string about, CancellationToken cancel)
    {
        var hidden = (await own.OfAsync(viewer, pupilIds, cancel)).Where(seen => seen.Value == Sight.Name).Select(seen => seen.Key).ToList();
        if (hidden.Count == 0)
        {
            return NotNeeded;
        }

        var errors = new FieldErrors();
        var read = errors.ReadReason(field, reason, "Say why you need these numbers.");
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var (facts, now) = (await school.GetAsync(cancel), clock.GetCurrentInstant());
        var until = facts.Today(clock).PlusDays(1).AtStartOfDayInZone(facts.Zone).ToInstant();
        foreach (var id in hidden)
        {
            db.Add(new PupilAccess { PupilId = id, PersonId = viewer.PersonId, ByName = viewer.Name, Reason = read, At = now, Until = until, NumberOn = list });
            audit.Note(viewer, "pupil.number", id, $"Opened the telephone number of somebody else’s pupil until midnight, and nothing else, to {about}. Reason: {read}");
        }

        return null;
    }
}

internal static class ReasonText
{
    /// <summary>Why somebody needs to see a pupil of somebody else.</summary>
    public static string ReadReason(this FieldErrors errors, string field, string? typed, string missing)
    {
        var reason = errors.ReadLine(field, typed, PupilAccess.LongestReason, missing);
        errors.When(!errors.Any && reason.Length < PupilAccess.ShortestReason, field, $"Say why in {PupilAccess.ShortestReason} letters or more.");
        return reason;
    }
}
