using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>
/// Whose pupils are whose. The office keeps everybody's; an instructor sees those who usually learn with them, and those with whom they have a
/// lesson from a week ago to a week ahead, which those they cover are among; of all others the name, and for a reason what it opens until
/// midnight (<see cref="PupilAccess"/>). A pupil sees themselves. Where the school says that pupils belong to their instructor, the office keeps those
/// who usually learn with nobody, or with somebody who has left; to the others it stands as an instructor does, and keeps the diary all the same.
/// Whoever keeps the diary and teaches makes nobody their own by it: a lesson with themselves that nobody but they arranged opens what a reason opens.
/// </summary>
internal sealed class OwnPupils(SchoolDb db, IPupilDiary diary, InstructorBook instructors, SchoolInfo school, IClock clock)
{
    public const int DaysEachWay = 7;

    public const string NotYoursCode = "not_your_pupil";

    private static readonly Refusal NotYours = new(
        RefusalKind.NotAllowed, NotYoursCode,
        $"This pupil usually learns with somebody else, and you have no lesson with them within {DaysEachWay} days. Ask the office, or whoever teaches them.");

    private static readonly Refusal NotByYourself = new(
        RefusalKind.NotAllowed, NotYoursCode,
        $"This pupil usually learns with somebody else, and nobody but you arranged a lesson with you within {DaysEachWay} days. This is for who teaches them: ask them, or hand the pupil over.");

    private static readonly Refusal NotTheOffices = new(
        RefusalKind.NotAllowed, NotYoursCode, "At this school pupils belong to their instructor, and this is for who teaches them. Ask them.");

    /// <summary>Where the reason is given.</summary>
    public static string PageOf(Guid pupilId) => $"/pupils/{pupilId}/access";

    /// <summary>For who sees less than everything.</summary>
    public static Refusal NotYoursTo(Viewer viewer) => IsOffice(viewer) ? NotTheOffices : NotYours;

    public static Refusal ReasonNeeded(Viewer viewer, Guid pupilId) => new Refusal(
        RefusalKind.NotAllowed, "reason_needed",
        (IsOffice(viewer) ? "At this school pupils belong to their instructor."
            : $"This pupil usually learns with somebody else, and you have no lesson with them within {DaysEachWay} days.")
            + " Say why you need to see them: it opens contact, places and record until midnight.")
        .CuredOn(PageOf(pupilId));

    /// <summary>Whether they look after pupils or the diary in the office.</summary>
    public static bool IsOffice(Viewer viewer) => viewer.Parts.Holds(OfficePart.People) || viewer.Parts.Holds(OfficePart.Diary);

    /// <summary>Null where what is kept of the pupil is the viewer's to read and change. Whether there is such a pupil is for the caller to have asked.</summary>
    public Task<Refusal?> RefuseAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) => RefuseAsync(viewer, pupilId, IsOffice(viewer), cancel);

    /// <summary>The same for what is kept under seal, which is its own part of the office, of the pupils that another part shows: no reason opens it.</summary>
    public Task<Refusal?> RefuseSealedAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) =>
        RefuseAsync(viewer, pupilId, viewer.Parts.Holds(OfficePart.Confidential) && IsOffice(viewer), cancel);

    /// <summary>The same for what goes into the diary, which whoever keeps it keeps for everybody.</summary>
    public Task<Refusal?> RefuseToArrangeAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) =>
        viewer.KeepsDiary ? Task.FromResult<Refusal?>(null) : RefuseAsync(viewer, pupilId, cancel);

    /// <summary>
    /// What was refused, where there is such a pupil; else that there is none. To be asked before the version is looked at: how often somebody else's pupil was changed is nobody's business.
    /// </summary>
    public async Task<Refusal?> IfThereAsync(Refusal? refused, Guid pupilId, CancellationToken cancel) =>
        refused is null || await db.Set<Pupil>().AnyAsync(p => p.Id == pupilId, cancel) ? refused : Refusal.NotFound("pupil");

    /// <summary>Null where what a reason opens is open to the viewer, by a reason or without.</summary>
    public async Task<Refusal?> RefuseUnseenAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) =>
        await OfAsync(viewer, pupilId, cancel) == Sight.Name ? ReasonNeeded(viewer, pupilId) : null;

    /// <summary>How much the viewer sees of a pupil; everything where it is not sight that decides, as with those who are no staff.</summary>
    public async Task<Sight> OfAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) =>
        viewer.PupilId == pupilId || await AsksAsync(viewer, cancel) is not { } asker ? Sight.Everything
            : await StandingAsync(viewer, asker, db.Set<Pupil>().Where(p => p.Id == pupilId), cancel) is { } standing ? standing.Sight : Sight.Name;

    /// <summary>The same; everything where there is no such pupil, since then that is to be said.</summary>
    public async Task<Sight> OfKnownAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) =>
        viewer.PupilId == pupilId || await AsksAsync(viewer, cancel) is not { } asker ? Sight.Everything
            : (await StandingAsync(viewer, asker, db.Set<Pupil>().Where(p => p.Id == pupilId), cancel))?.Sight ?? Sight.Everything;

    /// <summary>The same of the pupil of a lesson, and who that is; null where there is no such lesson, or none that they give where only those are theirs, or it is not sight that decides.</summary>
    public async Task<(Guid PupilId, Sight Sight)?> OfLessonAsync(Viewer viewer, Guid lessonId, bool given, CancellationToken cancel)
    {
        if (await AsksAsync(viewer, cancel) is not { } asker)
        {
            return null;
        }

        // Who keeps the diary is shown the lessons of everybody.
        var whose = diary.PupilOf(lessonId, given && !viewer.KeepsDiary ? asker.Instructor : null);
        return await StandingAsync(viewer, asker, db.Set<Pupil>().Where(p => whose.Contains(p.Id)), cancel) is { } standing && viewer.PupilId != standing.Id
            ? (standing.Id, standing.Sight)
            : null;
    }

    /// <summary>The same of several; whoever is missing is seen by name alone.</summary>
    public async Task<IReadOnlyDictionary<Guid, Sight>> OfAsync(Viewer viewer, IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel)
    {
        if (pupilIds.Count == 0 || await AsksAsync(viewer, cancel) is not { } asker)
        {
            return pupilIds.Distinct().ToDictionary(id => id, _ => Sight.Everything);
        }

        var seen = (await StandingsAsync(viewer, asker, db.Set<Pupil>().Where(p => pupilIds.Contains(p.Id)), cancel)).ToDictionary(s => s.Id, s => s.Sight);
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
        if (await AsksAsync(viewer, cancel) is not { } asker)
        {
            return null;
        }

        var (around, now, person, self) = (await AroundAsync(cancel), clock.GetCurrentInstant(), viewer.PersonId, viewer.PupilId);
        return Usually(asker).Select(p => p.Id)
            .Concat(db.Set<Pupil>().Where(p => p.Id == self).Select(p => p.Id))
            .Concat(diary.Taught(asker.Instructor, around))
            .Concat(Open(person, now).Select(a => a.PupilId));
    }

    /// <summary>The cards with all but the name taken off those of whom the viewer sees no more.</summary>
    public async Task<IReadOnlyDictionary<Guid, PupilCard>> VeilAsync(Viewer viewer, IReadOnlyDictionary<Guid, PupilCard> cards, CancellationToken cancel)
    {
        if (cards.Count == 0 || await AsksAsync(viewer, cancel) is null)
        {
            return cards;
        }

        var seen = await OfAsync(viewer, [.. cards.Keys], cancel);
        return cards.ToDictionary(card => card.Key, card => seen.GetValueOrDefault(card.Key) == Sight.Name ? card.Value.ByName() : card.Value);
    }

    /// <summary>The same of one.</summary>
    public async Task<PupilCard> VeilAsync(Viewer viewer, PupilCard card, CancellationToken cancel) =>
        (await VeilAsync(viewer, new Dictionary<Guid, PupilCard> { [card.Id] = card }, cancel))[card.Id];

    /// <summary>Whether a time lies so near that a lesson in it makes its pupil the instructor's own.</summary>
    public async Task<bool> IsNearAsync(Interval during, CancellationToken cancel) => await AroundAsync(cancel) is var around && during.Start >= around.Start && during.Start < around.End;

    /// <summary>By what the viewer sees pupils; null where it is not sight that decides: who sees all, or none but themselves.</summary>
    private async Task<Asker?> AsksAsync(Viewer viewer, CancellationToken cancel) =>
        !IsOffice(viewer) ? viewer.InstructorId is { } instructor ? new(instructor, Office: false) : null
            : await SeesAllAsync(viewer, cancel) ? null : new(viewer.InstructorId ?? Guid.Empty, Office: true);

    /// <summary>Whether whoever is of the office sees every pupil: the service itself does, and people where pupils are the school's.</summary>
    private async Task<bool> SeesAllAsync(Viewer viewer, CancellationToken cancel) =>
        viewer.PersonId == Viewer.Service.PersonId || !(await school.GetAsync(cancel)).PupilsBelongToInstructor;

    private async Task<Refusal?> RefuseAsync(Viewer viewer, Guid pupilId, bool ofOffice, CancellationToken cancel)
    {
        if (viewer.PupilId == pupilId || (ofOffice && await SeesAllAsync(viewer, cancel)))
        {
            return null;
        }

        return (ofOffice || viewer.InstructorId is not null)
            && await StandingAsync(viewer, new(viewer.InstructorId ?? Guid.Empty, ofOffice), db.Set<Pupil>().Where(p => p.Id == pupilId), cancel) is { Own: true } ? null
            : ofOffice ? NotTheOffices : viewer.KeepsDiary ? NotByYourself : NotYours;
    }

    private async Task<Standing?> StandingAsync(Viewer viewer, Asker asker, IQueryable<Pupil> one, CancellationToken cancel) =>
        (await StandingsAsync(viewer, asker, one, cancel)) is [var standing] ? standing : null;

    private async Task<List<Standing>> StandingsAsync(Viewer viewer, Asker asker, IQueryable<Pupil> of, CancellationToken cancel)
    {
        var (around, now, person) = (await AroundAsync(cancel), clock.GetCurrentInstant(), viewer.PersonId);
        var (instructor, opened) = (asker.Instructor, Open(person, now));
        // Who arranges lessons of everybody would else open anybody by a lesson with themselves.
        var taught = diary.Taught(instructor, around, viewer.KeepsDiary ? person : null);
        if (!asker.Office)
        {
            return await of.Select(p => new Standing(p.Id, p.UsualInstructorId == instructor || taught.Any(id => id == p.Id), opened.Any(a => a.PupilId == p.Id))).ToListAsync(cancel);
        }

        var (left, near) = (instructors.WhoLeft(), diary.Taught(instructor, around));
        return await of.Select(p => new Standing(
            p.Id, p.UsualInstructorId == null || p.UsualInstructorId == instructor || left.Any(id => id == p.UsualInstructorId) || taught.Any(id => id == p.Id),
            opened.Any(a => a.PupilId == p.Id) || near.Any(id => id == p.Id))).ToListAsync(cancel);
    }

    /// <summary>What somebody has opened by a reason: of whom a list to ring tells the number alone is seen by name.</summary>
    private IQueryable<PupilAccess> Open(Guid person, Instant now) => db.Set<PupilAccess>().Where(a => a.PersonId == person && a.Until > now && a.NumberOn == null);

    /// <summary>Those who usually learn with the instructor; for the office also those who do with nobody who is still here.</summary>
    private IQueryable<Pupil> Usually(Asker asker)
    {
        var (instructor, left) = (asker.Instructor, instructors.WhoLeft());
        return asker.Office
            ? db.Set<Pupil>().Where(p => p.UsualInstructorId == null || p.UsualInstructorId == instructor || left.Any(id => id == p.UsualInstructorId))
            : db.Set<Pupil>().Where(p => p.UsualInstructorId == instructor);
    }

    private async Task<Interval> AroundAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var today = facts.Today(clock);
        return new(
            today.PlusDays(-DaysEachWay).AtStartOfDayInZone(facts.Zone).ToInstant(), today.PlusDays(DaysEachWay + 1).AtStartOfDayInZone(facts.Zone).ToInstant());
    }

    /// <param name="Instructor">Who they are as an instructor; of nobody where they are none.</param>
    /// <param name="Office">They are of the office too, at a school where pupils belong to their instructor.</param>
    private readonly record struct Asker(Guid Instructor, bool Office);

    private sealed record Standing(Guid Id, bool Own, bool Opened)
    {
        public Sight Sight => Own ? Sight.Everything : Opened ? Sight.ByReason : Sight.Name;
    }
}
