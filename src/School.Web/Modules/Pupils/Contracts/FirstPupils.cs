using Microsoft.EntityFrameworkCore;
using School.Core.Pupils;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>A pupil by name, with what booking a first lesson still needs.</summary>
internal sealed record FirstPupil(Guid Id, string Name, FirstLessonNeeds Missing);

/// <summary>The first few pupils of a school that begins.</summary>
internal sealed class FirstPupils(SchoolDb db)
{
    private const int Few = 3;

    /// <summary>Who can be booked for stands first.</summary>
    public async Task<IReadOnlyList<FirstPupil>> ListAsync(CancellationToken cancel) =>
        [.. (await db.Set<Pupil>().AsNoTracking().Where(p => p.RetiredOn == null).OrderBy(p => p.Id).Take(Few).ToListAsync(cancel))
            .Select(p => new FirstPupil(p.Id, p.Name, p.Missing() & FirstLessonNeeds.PickUp)).OrderBy(p => p.Missing != FirstLessonNeeds.None)];
}
