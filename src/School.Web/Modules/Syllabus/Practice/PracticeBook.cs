using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus.Practice;

/// <summary>One drive between lessons.</summary>
/// <param name="Skills">Keys of the skills that were worked on, in the edition beside them.</param>
internal sealed record PracticeCard(
    Guid Id, LocalDate On, int Minutes, IReadOnlyList<PracticeCondition> Conditions, string Supervisor, IReadOnlyList<string> Skills, int Edition, string LoggedBy, int Version);

/// <summary>Reads what pupils practised between lessons. Who may see it is for the caller to have asked.</summary>
internal sealed class PracticeBook(SchoolDb db)
{
    /// <summary>All of a pupil's private practice, earliest first.</summary>
    public async Task<IReadOnlyList<PracticeCard>> OfPupilAsync(Guid pupilId, CancellationToken cancel) =>
        (await OfPupilsAsync([pupilId], cancel))[pupilId];

    /// <summary>The same for many; every id is in the answer.</summary>
    public async Task<IReadOnlyDictionary<Guid, IReadOnlyList<PracticeCard>>> OfPupilsAsync(IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel)
    {
        var wanted = pupilIds.Distinct().ToArray();
        var rows = (await db.Set<PrivatePractice>().AsNoTracking().Where(p => wanted.Contains(p.PupilId))
            .OrderBy(p => p.On).ThenBy(p => p.LoggedAt).ThenBy(p => p.Id).ToListAsync(cancel)).ToLookup(p => p.PupilId);
        return wanted.ToDictionary(id => id, IReadOnlyList<PracticeCard> (id) => [.. rows[id].Select(Card)]);
    }

    public static PracticeCard Card(PrivatePractice row) =>
        new(row.Id, row.On, row.Minutes, row.Conditions, row.Supervisor, row.Skills, row.Edition, row.LoggedBy, row.Version);
}
