using Microsoft.EntityFrameworkCore;
using School.Core.Pupils;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>When pupils can have lessons, as they or the staff recorded it.</summary>
internal sealed class PupilTimes(SchoolDb db)
{
    private static readonly IReadOnlyList<AvailableTime> NoneRecorded = [];

    /// <summary>The weekly times by pupil, in order; empty for a pupil who recorded none, which says nothing about when they can.</summary>
    public async Task<IReadOnlyDictionary<Guid, IReadOnlyList<AvailableTime>>> ReadAsync(IEnumerable<Guid> pupilIds, CancellationToken cancel)
    {
        var wanted = pupilIds.Distinct().ToArray();
        var rows = (await db.Set<PupilAvailability>().AsNoTracking().Where(a => wanted.Contains(a.PupilId)).ToListAsync(cancel)).ToLookup(a => a.PupilId);
        return wanted.ToDictionary(id => id, id => rows.Contains(id) ? InOrder(rows[id]) : NoneRecorded);
    }

    private static IReadOnlyList<AvailableTime> InOrder(IEnumerable<PupilAvailability> rows) =>
        [.. rows.Select(row => row.ToTime()).OrderBy(time => time.Day).ThenBy(time => time.From)];
}
