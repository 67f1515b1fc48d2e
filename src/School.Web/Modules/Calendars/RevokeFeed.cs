using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Calendars;

/// <summary>Ends a feed for good: its address answers like one that never was.</summary>
internal sealed class RevokeFeed(SchoolDb db, Audit audit, IClock clock)
{
    public Task<Outcome<Feed>> RunAsync(Viewer viewer, Guid id, CancellationToken cancel) => db.InTransactionAsync<Feed>(async cancel =>
    {
        if (await db.FeedsFor(viewer).SingleOrDefaultAsync(f => f.Id == id, cancel) is not { } feed)
        {
            return Refusal.NotFound("calendar address");
        }

        audit.Note(viewer, "feed.revoke", id, "Revoked a calendar address.");
        feed.RevokedAt = clock.GetCurrentInstant();
        return feed;
    }, cancel);
}
