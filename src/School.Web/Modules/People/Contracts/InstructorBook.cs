using System.Diagnostics.CodeAnalysis;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.People.Contracts;

/// <summary>An instructor as other modules see them.</summary>
internal sealed record InstructorCard(Guid Id, string Name, string Email, string Phone, Place Base, InstructorFacts Facts, string RegistrationNumber, LocalDate? RetiredOn,
    TraineeOption? Option = null)
{
    /// <summary>As somebody to choose: of a trainee that they are one.</summary>
    public string Choice => Option is null ? Name : $"{Name}, trainee";

    /// <summary>What is still needed before the first lesson, in words; until then they may not teach.</summary>
    public IReadOnlyList<string> StillNeeded { get; init; } = [];

    /// <summary>The last day of the registration or licence as it was entered, whatever else is still to be asked.</summary>
    public LocalDate? RegisteredTo { get; init; }

    /// <summary>When the registration or licence was entered as it stands, and by whom.</summary>
    public Sighting RegistrationSeen { get; init; } = Sighting.None;
}

internal sealed class InstructorBook(SchoolDb db, ReadOnce once)
{
    /// <summary>All who teach, by name; also those who left when asked.</summary>
    public async Task<IReadOnlyList<InstructorCard>> ListAsync(bool alsoRetired, CancellationToken cancel) =>
        [.. (await AllAsync(cancel)).Where(card => alsoRetired || card.RetiredOn is null)];

    public async Task<InstructorCard?> FindAsync(Guid id, CancellationToken cancel) => Has(id, out var card) ? card :
        await db.Set<Instructor>().AsNoTracking().SingleOrDefaultAsync(i => i.Id == id, cancel) is { } row ? Card(row) : null;

    public async Task<IReadOnlyDictionary<Guid, string>> NamesAsync(CancellationToken cancel) =>
        (await AllAsync(cancel)).ToDictionary(card => card.Id, card => card.Name);

    /// <summary>What was read under the locks of this transaction: all of them, by name.</summary>
    public void Give(IEnumerable<InstructorCard> all) => once.Give(All, all.ToList());

    /// <summary>Those who have left, to be asked within another question.</summary>
    // Not AsNoTracking: that would hold for the whole question in which it is asked.
    public IQueryable<Guid> WhoLeft() => db.Set<Instructor>().Where(i => i.RetiredOn != null).Select(i => i.Id);

    /// <summary>Whether they were, with this one among them.</summary>
    public bool Has(Guid id, [MaybeNullWhen(false)] out InstructorCard card)
    {
        card = once.Has<List<InstructorCard>>(All, out var all) ? all.Find(one => one.Id == id) : null;
        return card is not null;
    }

    private const string All = "instructors";

    /// <summary>All of them as a part of what is read together.</summary>
    public void Ahead(ReadTogether together) => once.Ahead(together, All, Rows, rows => rows.Select(Card).ToList());

    private IQueryable<Instructor> Rows => db.Set<Instructor>().AsNoTracking().OrderBy(i => i.Name);

    private Task<List<InstructorCard>> AllAsync(CancellationToken cancel) => once.GetAsync(All, async () => (await Rows.ToListAsync(cancel)).ConvertAll(Card));

    internal static InstructorCard Card(Instructor row) => new(
        row.Id, row.Name, row.Email, row.Phone, row.Base,
        new InstructorFacts(row.Id, row.Teaches, row.Base.At(), row.Registration ?? RegistrationKind.Approved, row.RegisteredFrom, row.MayTeachUntil(), row.DailyTeachingMinutes, row.AppliedAgainOn) { Serves = row.Serves },
        row.RegistrationNumber, row.RetiredOn, row.TraineeOption)
    { StillNeeded = [.. row.StillNeeded().Select(need => need.Words)], RegisteredTo = row.RegisteredTo, RegistrationSeen = row.RegistrationSeen };
}
