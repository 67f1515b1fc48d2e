using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Records;

/// <summary>The audit, newest first, for page and API alike.</summary>
internal static class AuditPages
{
    public static async Task<Outcome<Page<AuditEntry>>> ReadAsync(SchoolDb db, Guid? aboutId, int? limit, string? cursor, CancellationToken cancel)
    {
        var request = PageRequest.Of(limit, cursor);
        var before = request.Ok ? request.Value.Unwrap() : request.Refusal;
        if (!request.Ok || !before.Ok)
        {
            return before.Refusal!;
        }

        var rows = db.Set<AuditEntry>().AsNoTracking().Where(a => aboutId == null || a.AboutId == aboutId);
        if (before.Value.Length > 0)
        {
            if (!Guid.TryParse(before.Value, out var id))
            {
                return Refusal.Invalid("cursor", "This cursor is not one that a list gave. Start again without it.");
            }

            rows = rows.Where(a => a.Id < id);
        }

        var found = await rows.OrderByDescending(a => a.Id).Take(request.Value.Limit + 1).ToListAsync(cancel);
        var items = found.Take(request.Value.Limit).ToList();
        return new Page<AuditEntry>(items, found.Count > items.Count ? PageRequest.Wrap(items[^1].Id.ToString()) : null);
    }
}
