using System.Diagnostics.CodeAnalysis;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Core.Pupils;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>A pupil as the diary and the messages see them; nothing guarded.</summary>
internal sealed record PupilCard(
    Guid Id, string Name, string Email, string Phone, Gearbox Gearbox, Place PickUp, Guid? UsualInstructorId, int LessonMinutes, string Need,
    bool EyesightChecked, LocalDate? EyesightFailedOn, LocalDate? BirthDate, bool MobilityAward, Licence? Licence, bool NeedsDualControls, int? WeeklyMinutes, LocalDate? RetiredOn,
    LocalDate? TheoryPassedOn, LocalDate? LicenceCheckedOn, FirstLessonNeeds Missing, IReadOnlyList<Guid> LettersTo)
{
    /// <summary>What is seen and asked before the wheels turn; nothing of it is told to who sees the name alone.</summary>
    public FirstLessonNeeds BeforeDriving => NameOnly ? FirstLessonNeeds.None : FirstLessonNeedsWords.BeforeDriving(BirthDate, Licence is not null);

    /// <summary>The same pupil, of whom it is known now which gearbox they learn in.</summary>
    public PupilCard LearningIn(Gearbox gearbox) =>
        this with { Gearbox = gearbox, Missing = FirstLessonNeedsWords.Of(BirthDate, gearbox, PickUp.IsKnown, Licence is not null) };

    /// <summary>Shown to somebody who sees the name alone.</summary>
    public bool NameOnly { get; private init; }

    /// <summary>Whether letters reach them; also told where the address is not.</summary>
    public bool HasEmail => NameOnly ? HadEmail : Email.Length > 0;

    private bool HadEmail { get; init; }

    public PupilFacts Facts(IReadOnlyList<PupilLesson> lessons) =>
        new(Id, BirthDate, MobilityAward, Gearbox, Licence, NeedsDualControls, WeeklyMinutes, lessons, EyesightFailedOn, Missing);

    /// <summary>The same for who sees the name alone: nothing of how they are reached and what they need.</summary>
    public PupilCard ByName() => this with { Email = "", Phone = "", Need = "", NameOnly = true, HadEmail = HasEmail };

    /// <summary>What the law asks about; of an eyesight check that was passed only that there was one.</summary>
    public LearnerFacts Learner(LocalDate on) => new(BirthDate, Licence, EyesightChecked ? on : null, MobilityAward, RetiredOn, Gearbox, EyesightFailedOn, Missing);
}

internal sealed record PupilName(Guid Id, string Name);

/// <summary>What to heed with a pupil on a date. Of health notes only that there are some.</summary>
internal sealed record PupilCautions(IReadOnlyList<EligibilityBlock> Blocks, bool HasHealthNotes)
{
    /// <summary>What is seen and asked before the wheels turn.</summary>
    public FirstLessonNeeds BeforeDriving { get; init; }

    /// <summary>What there is to heed besides.</summary>
    public IEnumerable<EligibilityBlock> Others => Blocks.Where(block => !block.IsOnlyUnseen);
}

internal sealed class PupilBook(SchoolDb db, ReadOnce once)
{
    /// <summary>The pupil if the viewer may see them: a pupil only themselves, staff everybody.</summary>
    public async Task<PupilCard?> FindAsync(Guid id, Viewer viewer, CancellationToken cancel) =>
        await Visible(viewer).SingleOrDefaultAsync(p => p.Id == id, cancel) is { } row ? Card(row) : null;

    /// <summary>The same as a part of what is read together; it may be asked for after that.</summary>
    public Func<PupilCard?> Find(ReadTogether together, Guid id, Viewer viewer)
    {
        var rows = together.Ask(Visible(viewer).Where(p => p.Id == id));
        return () => rows.All is [var row] ? Card(row) : null;
    }

    /// <summary>What was read under the locks of this transaction.</summary>
    public void Give(PupilCard card) => once.Give(NameOf(card.Id), card);

    /// <summary>Whether it was.</summary>
    public bool Has(Guid id, [MaybeNullWhen(false)] out PupilCard card) => once.Has(NameOf(id), out card);

    public async Task<IReadOnlyDictionary<Guid, PupilCard>> CardsAsync(IEnumerable<Guid> ids, CancellationToken cancel)
    {
        var wanted = ids.Distinct().ToArray();
        if (wanted is [var only] && Has(only, out var card))
        {
            return new Dictionary<Guid, PupilCard> { [only] = card };
        }

        if (wanted is [var one])
        {
            return await once.GetAsync<IReadOnlyDictionary<Guid, PupilCard>>($"{NameOf(one)} alone", async () =>
                (await db.Set<Pupil>().AsNoTracking().Where(p => p.Id == one).ToListAsync(cancel)).ToDictionary(p => p.Id, Card));
        }

        var rows = await db.Set<Pupil>().AsNoTracking().Where(p => wanted.Contains(p.Id)).ToListAsync(cancel);
        return rows.ToDictionary(p => p.Id, Card);
    }

    /// <summary>The same as a part of what is read together.</summary>
    public Func<IReadOnlyDictionary<Guid, PupilCard>> Cards(ReadTogether together, IEnumerable<Guid> ids)
    {
        var wanted = ids.Distinct().ToArray();
        var rows = together.Ask(db.Set<Pupil>().AsNoTracking().Where(p => wanted.Contains(p.Id)));
        return () => rows.All.ToDictionary(p => p.Id, Card);
    }

    /// <summary>How often each was changed, in the order of their ids: another as soon as anything about a pupil is, the times at which they can come included.</summary>
    public async Task<IReadOnlyList<(Guid Id, int Version)>> VersionsAsync(IReadOnlyCollection<Guid> ids, CancellationToken cancel) =>
        (await db.Set<Pupil>().AsNoTracking().Where(p => ids.Contains(p.Id)).OrderBy(p => p.Id).Select(p => new { p.Id, p.Version }).ToListAsync(cancel))
            .ConvertAll(p => (p.Id, p.Version));

    /// <summary>What stands between a pupil and a lesson, for who may see the pupil; null for others.</summary>
    public async Task<PupilCautions?> CautionsAsync(Guid id, LocalDate on, LocalDate today, Viewer viewer, CancellationToken cancel) =>
        await Visible(viewer).SingleOrDefaultAsync(p => p.Id == id, cancel) is { } row
            ? new(Eligibility.Of(row.LearnerFacts(), on, today), row.HealthNotesSealed is not null) { BeforeDriving = row.BeforeDriving() }
            : null;

    public Task<IReadOnlyList<PupilCard>> ListAsync(Viewer viewer, CancellationToken cancel) => LearningAsync(Visible(viewer), cancel);

    /// <summary>Those who learn now and whom the viewer may see, by name, to choose one of.</summary>
    public async Task<IReadOnlyList<PupilName>> NamesAsync(Viewer viewer, CancellationToken cancel) =>
        await Visible(viewer).Where(p => p.RetiredOn == null).OrderBy(p => p.Name).Select(p => new PupilName(p.Id, p.Name)).ToListAsync(cancel);

    /// <summary>All who learn at the school, for what looks at the school as a whole.</summary>
    public Task<IReadOnlyList<PupilCard>> OfSchoolAsync(CancellationToken cancel) => LearningAsync(db.Set<Pupil>().AsNoTracking(), cancel);

    /// <summary>The pupils who usually learn with an instructor.</summary>
    public async Task<IReadOnlyList<Guid>> IdsOfInstructorAsync(Guid instructorId, CancellationToken cancel) =>
        await IdsOfInstructor(instructorId).ToListAsync(cancel);

    /// <summary>The same, to be asked within another question.</summary>
    // Not AsNoTracking: that would hold for the whole question in which it is asked.
    public IQueryable<Guid> IdsOfInstructor(Guid instructorId) => db.Set<Pupil>().Where(p => p.UsualInstructorId == instructorId).Select(p => p.Id);

    /// <summary>Those who learn now, by name: who usually do with an instructor, and some others.</summary>
    public Task<IReadOnlyList<PupilCard>> LearningWithAsync(Guid instructorId, IReadOnlyCollection<Guid> also, CancellationToken cancel) =>
        LearningAsync(db.Set<Pupil>().AsNoTracking().Where(p => p.UsualInstructorId == instructorId || also.Contains(p.Id)), cancel);

    /// <summary>The last who usually learned with an instructor and have left, at most so many.</summary>
    public async Task<IReadOnlyList<Guid>> LeftAsync(Guid instructorId, int most, CancellationToken cancel) =>
        await db.Set<Pupil>().AsNoTracking().Where(p => p.UsualInstructorId == instructorId && p.RetiredOn != null)
            .OrderByDescending(p => p.RetiredOn).ThenBy(p => p.Id).Take(most).Select(p => p.Id).ToListAsync(cancel);

    /// <summary>All who learn at the school, by name, whole: read once for everything that looks at them all.</summary>
    internal Task<List<Pupil>> LearningRowsAsync(CancellationToken cancel) => once.GetAsync(
        "pupils who learn", () => db.Set<Pupil>().AsNoTracking().Where(p => p.RetiredOn == null).OrderBy(p => p.Name).ToListAsync(cancel));

    private static async Task<IReadOnlyList<PupilCard>> LearningAsync(IQueryable<Pupil> among, CancellationToken cancel) =>
        (await among.Where(p => p.RetiredOn == null).OrderBy(p => p.Name).ToListAsync(cancel)).ConvertAll(Card);

    private static string NameOf(Guid id) => $"pupil:{id}";

    private IQueryable<Pupil> Visible(Viewer viewer) =>
        db.Set<Pupil>().AsNoTracking().VisibleTo(viewer);

    internal static PupilCard Card(Pupil row) => new(
        row.Id, row.Name, row.Email, row.Phone, row.Gearbox ?? Gearbox.Manual, row.PickUp, row.UsualInstructorId, row.LessonMinutes, row.Need,
        row.EyesightCheckedOn is not null, row.EyesightFailedOn, row.BirthDate, row.MobilityAward, row.SeenLicence(), row.NeedsDualControls, row.WeeklyMinutes, row.RetiredOn,
        row.TheoryPassedOn, row.LicenceCheckedOn, row.Missing(), row.LettersTo);
}
