using System.Security.Cryptography;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.People;

/// <param name="Stamp">The security stamp under which the person showed who they are.</param>
/// <param name="Name">What they call the program; may be left out.</param>
/// <param name="Scope">What it may do; all that the person may where left out.</param>
internal sealed record NewToken(string Stamp, string? Name = null, TokenScope? Scope = null);

internal sealed record IssuedToken(Guid Id, string Token, Instant ExpiresAt);

/// <summary>Issues a bearer token to somebody who has shown who they are: for a month, for staff a week.</summary>
internal sealed class IssueToken(SchoolDb db, Audit audit, IClock clock, ILogger<IssueToken> logger)
{
    public const int LongestName = 80;
    public static readonly Duration Lifetime = Duration.FromDays(30);
    public static readonly Duration StaffLifetime = Duration.FromDays(7);

    public async Task<Outcome<IssuedToken>> RunAsync(Viewer viewer, NewToken wish, CancellationToken cancel)
    {
        var errors = new FieldErrors();
        var name = errors.ReadLine(nameof(wish.Name), wish.Name, LongestName);
        if (errors.ToRefusal() is { } refusal)
        {
            return refusal;
        }

        var token = Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(32));
        var issued = await db.InTransactionAsync<IssuedToken>(
            async cancel =>
            {
                var now = clock.GetCurrentInstant();
                var row = new ApiToken
                {
                    PersonId = viewer.PersonId,
                    Hash = ApiTokens.HashOf(token),
                    Name = name,
                    Scope = wish.Scope ?? TokenScope.Full,
                    CreatedAt = now,
                    ExpiresAt = now + (viewer.IsStaff ? StaffLifetime : Lifetime),
                    SecurityStamp = wish.Stamp,
                };
                db.Add(row);
                await db.Set<Person>().Where(p => p.Id == viewer.PersonId).ExecuteUpdateAsync(set => set.SetProperty(p => p.LastSignIn, now), cancel);
                audit.Note(viewer, "token.make", row.Id, row.Scope == TokenScope.Read ? "Made an API token that reads only." : "Made an API token.");
                return new IssuedToken(row.Id, token, row.ExpiresAt);
            },
            cancel);
        if (issued.Ok)
        {
            SignInLog.Opened(logger, viewer.PersonId, "a token", issued.Value.Id);
        }

        return issued;
    }
}
