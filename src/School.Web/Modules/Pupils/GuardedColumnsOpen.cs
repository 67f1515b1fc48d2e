using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Database;
using School.Web.Platform.Operations;
using School.Web.Platform.Security;

namespace School.Web.Modules.Pupils;

/// <summary>Driver numbers, certificates and health notes can be read by those who may.</summary>
internal sealed class GuardedColumnsOpen(Sealer sealer) : IInvariant
{
    public string Code => "guarded_columns_open";

    public string Sentence => "every driver number, theory certificate and health note can be decrypted";

    public async Task<Finding> LookAsync(SchoolDb db, CancellationToken cancel)
    {
        var (count, broken) = (0L, new List<string>());
        var rows = db.Set<Pupil>().AsNoTracking().OrderBy(p => p.Id)
            .Select(p => new { p.Id, p.DriverNumberSealed, p.TheoryCertificateSealed, p.HealthNotesSealed }).AsAsyncEnumerable();
        await foreach (var row in rows.WithCancellation(cancel))
        {
            (string What, string? Sealed)[] columns =
                [("driver number", row.DriverNumberSealed), ("theory certificate", row.TheoryCertificateSealed), ("health note", row.HealthNotesSealed)];
            foreach (var (what, text) in columns.Where(column => column.Sealed is not null))
            {
                count++;
                if (!sealer.Opens(text))
                {
                    broken.Add($"{what} of pupil {row.Id}");
                }
            }
        }

        return new(count, broken);
    }
}
