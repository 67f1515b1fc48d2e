using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.People.Contracts;

/// <summary>An instructor as other modules see them.</summary>
internal sealed record InstructorCard(Guid Id, string Name, string Email, string Phone, Place Base, InstructorFacts Facts, string RegistrationNumber, LocalDate? RetiredOn);

internal sealed class InstructorBook(SchoolDb db)
{
    /// <summary>All who teach, by name; also those who left when asked.</summary>
    public async Task<IReadOnlyList<InstructorCard>> ListAsync(bool alsoRetired, CancellationToken cancel)
    {
        var rows = await db.Set<Instructor>().AsNoTracking().Where(i => alsoRetired || i.RetiredOn == null).OrderBy(i => i.Name).ToListAsync(cancel);
        return rows.ConvertAll(Card);
    }

    public async Task<InstructorCard?> FindAsync(Guid id, CancellationToken cancel) =>
        await db.Set<Instructor>().AsNoTracking().SingleOrDefaultAsync(i => i.Id == id, cancel) is { } row ? Card(row) : null;

    public async Task<IReadOnlyDictionary<Guid, string>> NamesAsync(CancellationToken cancel) =>
        await db.Set<Instructor>().AsNoTracking().ToDictionaryAsync(i => i.Id, i => i.Name, cancel);

    internal static InstructorCard Card(Instructor row) => new(
        row.Id, row.Name, row.Email, row.Phone, row.Base,
        new InstructorFacts(row.Id, row.Teaches, row.Base.At(), row.Registration, row.RegisteredFrom, row.RegisteredTo, row.DailyTeachingMinutes),
        row.RegistrationNumber, row.RetiredOn);
}
