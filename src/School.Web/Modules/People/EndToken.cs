using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>Ends one of a person's own tokens.</summary>
internal sealed class EndToken(SchoolDb db, Audit audit, IClock clock)
{
    public Task<Outcome<ApiToken>> RunAsync(Viewer viewer, Guid id, CancellationToken cancel) => db.InTransactionAsync<ApiToken>(
        async cancel =>
        {
            if (await db.Set<ApiToken>().SingleOrDefaultAsync(t => t.Id == id && t.PersonId == viewer.PersonId, cancel) is not { } row)
            {
                return Refusal.NotFound("token");
            }

            if (row.RevokedAt is null)
            {
                row.RevokedAt = clock.GetCurrentInstant();
                audit.Note(viewer, "token.revoke", id, "Ended an API token.");
            }

            return row;
        },
        cancel);
}
