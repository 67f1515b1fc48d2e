using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Proposals;

/// <summary>The versions of a part of the diary as one mark: another as soon as anything in it has changed, or anything that holds on every day.</summary>
/// <remarks>Read it before what it stands for: then it may be older than that, but never newer.</remarks>
internal sealed class DiaryVersions(SchoolDb db, PupilBook pupils, ReadOnce once)
{
    public async Task<string> MarkAsync(DiaryPart part, CancellationToken cancel)
    {
        // A local day lies within the UTC days of its own date and the neighbouring ones.
        var days = part.Dates.SelectMany(date => new[] { date.PlusDays(-1), date, date.PlusDays(1) }).Distinct().ToArray();
        var subjects = part.Subjects?.ToArray() ?? [];
        var all = part.Subjects is null;
        once.Forget();
        var rows = await db.Set<DayVersion>().AsNoTracking()
            .Where(v => (days.Contains(v.Day) && (all || subjects.Contains(v.Subject))) || (v.Day == DayVersion.Always && v.Subject == DayVersion.WholeSchool))
            .OrderBy(v => v.Day).ThenBy(v => v.Subject).Select(v => new { v.Day, v.Subject, v.Version }).ToListAsync(cancel);
        var words = new StringBuilder();
        foreach (var row in rows)
        {
            words.Append(CultureInfo.InvariantCulture, $"{row.Day:uuuu-MM-dd} {row.Subject} {row.Version}\n");
        }

        foreach (var (id, version) in part.Pupils is { Count: > 0 } theirs ? await pupils.VersionsAsync(theirs, cancel) : [])
        {
            words.Append(CultureInfo.InvariantCulture, $"{id} {version}\n");
        }

        return Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(words.ToString())))[..32];
    }
}
