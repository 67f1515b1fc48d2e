using System.Collections.Concurrent;
using Microsoft.EntityFrameworkCore;
using School.Core.Syllabus;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus;

/// <summary>Editions that were read once; they never change.</summary>
internal sealed class EditionMemory
{
    public ConcurrentDictionary<int, SyllabusEdition> Read { get; } = new();
}

/// <summary>The syllabus as it stands, and as it stood.</summary>
internal sealed class SyllabusBook(SchoolDb db, EditionMemory memory)
{
    public async Task<SyllabusEdition> CurrentAsync(CancellationToken cancel) =>
        (await FindAsync(await db.Set<KeptEdition>().MaxAsync(e => e.Number, cancel), cancel))!;

    /// <summary>An edition by its number, or null.</summary>
    public async Task<SyllabusEdition?> FindAsync(int number, CancellationToken cancel)
    {
        if (memory.Read.TryGetValue(number, out var known))
        {
            return known;
        }

        var row = await db.Set<KeptEdition>().AsNoTracking().SingleOrDefaultAsync(e => e.Number == number, cancel);
        return row is null ? null : memory.Read.GetOrAdd(number, _ => row.Read());
    }

    /// <summary>All editions, the newest first.</summary>
    public async Task<IReadOnlyList<SyllabusEdition>> EveryAsync(CancellationToken cancel) => await UpToAsync(await CurrentAsync(cancel), cancel);

    /// <summary>Skills that an earlier edition had and the newest has not, each as it stood last.</summary>
    public async Task<IReadOnlyList<Skill>> RetiredAsync(SyllabusEdition newest, CancellationToken cancel)
    {
        var editions = await UpToAsync(newest, cancel);
        var known = editions[0].Skills.Select(skill => skill.Key).ToHashSet(StringComparer.Ordinal);
        return [.. editions.Skip(1).SelectMany(edition => edition.Skills).Where(skill => known.Add(skill.Key))];
    }

    public async Task<SyllabusSettings> SettingsAsync(CancellationToken cancel) =>
        await db.Set<SyllabusSettings>().AsNoTracking().SingleAsync(cancel);

    private async Task<IReadOnlyList<SyllabusEdition>> UpToAsync(SyllabusEdition newest, CancellationToken cancel)
    {
        var editions = new List<SyllabusEdition> { newest };
        for (var number = newest.Number - 1; number > 0; number--)
        {
            editions.Add((await FindAsync(number, cancel))!);
        }

        return editions;
    }
}
