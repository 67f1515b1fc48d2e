using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>
/// Whose pupils are whose. The office keeps everybody's; an instructor sees those who usually learn with them, and those with whom they have a
/// lesson from a week ago to a week ahead, which those they cover are among; of all others the name, and for a reason what it opens until
/// midnight (<see cref="PupilAccess"/>). A pupil sees themselves.
/// </summary>
internal sealed class OwnPupils(SchoolDb db, IPupilDiary diary, SchoolInfo school, IClock clock)
{
    public const int DaysEachWay = 7;

    public static readonly Refusal NotYours = new(
        RefusalKind.NotAllowed, "not_your_pupil",
        $"This pupil usually learns with somebody else, and you have no lesson with them within {DaysEachWay} days. Ask the office, or whoever teaches them.");

    /// <summary>Where the reason is given.</summary>
    public static string PageOf(Guid pupilId) => $"/pupils/{pupilId}/access";

    public static Refusal ReasonNeeded(Guid pupilId) => new Refusal(
        RefusalKind.NotAllowed, "reason_needed",
        $"This pupil usually learns with somebody else, and you have no lesson with them within {DaysEachWay} days. Say why you need to see them: it opens contact, places and record until midnight.")
        .CuredOn(PageOf(pupilId));

    /// <summary>Whether they see every pupil by what they look after in the office.</summary>
    public static bool SeesAll(Viewer viewer) => viewer.Parts.Holds(OfficePart.People) || viewer.Parts.Holds(OfficePart.Diary);

    /// <summary>Null where what is kept of the pupil is the viewer's to read and change. Whether there is such a pupil is for the caller to have asked.</summary>
    public Task<Refusal?> RefuseAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) => RefuseAsync(viewer, pupilId, SeesAll(viewer), cancel);

    /// <summary>The same for what is kept under seal, which is its own part of the office.</summary>
    public Task<Refusal?> RefuseSealedAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) =>
        RefuseAsync(viewer, pupilId, viewer.Parts.Holds(OfficePart.Confidential), cancel);

    /// <summary>
    /// What was refused, where there is such a pupil; else that there is none. To be asked before the version is looked at: how often somebody else's pupil was changed is nobody's business.
    /// </summary>
    public async Task<Refusal?> IfThereAsync(Refusal? refused, Guid pupilId, CancellationToken cancel) =>
        refused is null || await db.Set<Pupil>().AnyAsync(p => p.Id == pupilId, cancel) ? refused : Refusal.NotFound("pupil");

    /// <summary>Null where what a reason opens is open to the viewer, by a reason or without.</summary>
    public async Task<Refusal?> RefuseUnseenAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) =>
        await OfAsync(viewer, pupilId, cancel) == Sight.Name ? ReasonNeeded(pupilId) : null;

    /// <summary>How much the viewer sees of a pupil; everything where it is not sight that decides, as with those who are no staff.</summary>
    public async Task<Sight> OfAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) =>
        Asks(viewer) is not { } instructor || viewer.PupilId == pupilId ? Sight.Everything
            : await StandingAsync(viewer, instructor, db.Set<Pupil>().Where(p => p.Id == pupilId), cancel) is { } standing ? standing.Sight : Sight.Name;

    /// <summary>The same; everything where there is no such pupil, since then that is to be said.</summary>
    public async Task<Sight> OfKnownAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) =>
        Asks(viewer) is not { } instructor || viewer.PupilId == pupilId ? Sight.Everything
            : (await StandingAsync(viewer, instructor, db.Set<Pupil>().Where(p => p.Id == pupilId), cancel))?.Sight ?? Sight.Everything;

    /// <summary>The same of the pupil of a lesson, and who that is; null where there is no such lesson, or none that they give where only those are theirs, or it is not sight that decides.</summary>
    public async Task<(Guid PupilId, Sight Sight)?> OfLessonAsync(Viewer viewer, Guid lessonId, bool given, CancellationToken cancel)
    {
        if (Asks(viewer) is not { } instructor)
        {
            return null;
        }

        var whose = diary.PupilOf(lessonId, given ? instructor : null);
        return await StandingAsync(viewer, instructor, db.Set<Pupil>().Where(p => whose.Contains(p.Id)), cancel) is { } standing && viewer.PupilId != standing.Id
            ? (standing.Id, standing.Sight)
            : null;
    }

    /// <summary>The same of several; whoever is missing is seen by name alone.</summary>
    public async Task<IReadOnlyDictionary<Guid, Sight>> OfAsync(Viewer viewer, IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel)
    {
        if (Asks(viewer) is not { } instructor || pupilIds.Count == 0)
        {
            return pupilIds.Distinct().ToDictionary(id => id, _ => Sight.Everything);
        }

        var seen = (await StandingsAsync(viewer, instructor, db.Set<Pupil>().Where(p => pupilIds.Contains(p.Id)), cancel)).ToDictionary(s => s.Id, s => s.Sight);
        if (viewer.PupilId is { } self)
        {
            seen[self] = Sight.Everything;
        }

        return seen;
    }

    /// <summary>Those of whom the viewer sees more than the name, to be asked within another question; null where that is all whom they may find.</summary>
    // Not AsNoTracking: that would hold for the whole question in which it is asked.
    public async Task<IQueryable<Guid>?> SeenAsync(Viewer viewer, CancellationToken cancel)
    {
        if (Asks(viewer) is not { } instructor)
        {
            return null;
        }

        var (around, now, person, self) = (await AroundAsync(cancel), clock.GetCurrentInstant(), viewer.PersonId, viewer.PupilId);
        return db.Set<Pupil>().Where(p => p.UsualInstructorId == instructor || p.Id == self).Select(p => p.Id)
            .Concat(diary.Taught(instructor, around))
            .Concat(db.Set<PupilAccess>().Where(a => a.PersonId == person && a.Until > now).Select(a => a.PupilId));
    }

    /// <summary>The cards with all but the name taken off those of whom the viewer sees no more.</summary>
    public async Task<IReadOnlyDictionary<Guid, PupilCard>> VeilAsync(Viewer viewer, IReadOnlyDictionary<Guid, PupilCard> cards, CancellationToken cancel)
    {
        if (Asks(viewer) is null || cards.Count == 0)
        {
            return cards;
        }

        var seen = await OfAsync(viewer, [.. cards.Keys], cancel);
        return cards.ToDictionary(card => card.Key, card => seen.GetValueOrDefault(card.Key) == Sight.Name ? card.Value.ByName() : card.Value);
    }

    /// <summary>Whether a time lies so near that a lesson in it makes its pupil the instructor's own.</summary>
    public async Task<bool> IsNearAsync(Interval during, CancellationToken cancel) => await AroundAsync(cancel) is var around && during.Start >= around.Start && during.Start < around.End;

    /// <summary>The instructor whose sight decides; null where the viewer sees all by a part of the office, or sees none but themselves.</summary>
    private static Guid? Asks(Viewer viewer) => SeesAll(viewer) ? null : viewer.InstructorId;

    private async Task<Refusal?> RefuseAsync(Viewer viewer, Guid pupilId, bool ofOffice, CancellationToken cancel)
    {
        if (ofOffice || viewer.PupilId == pupilId)
        {
            return null;
        }

        return viewer.InstructorId is { } instructor
            && await StandingAsync(viewer, instructor, db.Set<Pupil>().Where(p => p.Id == pupilId), cancel) is { Own: true } ? null : NotYours;
    }

    private async Task<Standing?> StandingAsync(Viewer viewer, Guid instructor, IQueryable<Pupil> one, CancellationToken cancel) =>
        (await StandingsAsync(viewer, instructor, one, cancel)) is [var standing] ? standing : null;

    private async Task<List<Standing>> StandingsAsync(Viewer viewer, Guid instructor, IQueryable<Pupil> of, CancellationToken cancel)
    {
        var (around, now, person) = (await AroundAsync(cancel), clock.GetCurrentInstant(), viewer.PersonId);
        var taught = diary.Taught(instructor, around);
        return await of.Select(p => new Standing(
            p.Id, p.UsualInstructorId == instructor || taught.Any(id => id == p.Id),
            db.Set<PupilAccess>().Any(a => a.PupilId == p.Id && a.PersonId == person && a.Until > now))).ToListAsync(cancel);
    }

    private async Task<Interval> AroundAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var today = facts.Today(clock);
        return new(
            today.PlusDays(-DaysEachWay).AtStartOfDayInZone(facts.Zone).ToInstant(), today.PlusDays(DaysEachWay + 1).AtStartOfDayInZone(facts.Zone).ToInstant());
    }

    private sealed record Standing(Guid Id, bool Own, bool Opened)
    {
        public Sight Sight => Own ? Sight.Everything : Opened ? Sight.ByReason : Sight.Name;
    }
}
