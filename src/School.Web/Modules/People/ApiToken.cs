using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.People;

/// <summary>What a token may do of what its person may.</summary>
internal enum TokenScope
{
    /// <summary>All of it.</summary>
    Full,

    /// <summary>Reading only.</summary>
    Read,
}

/// <summary>A bearer token of the API; only its SHA-256 is kept.</summary>
internal sealed class ApiToken
{
    public Guid Id { get; init; } = RowId.New();

    public required Guid PersonId { get; init; }

    public required byte[] Hash { get; init; }

    /// <summary>What the person calls the program, or empty.</summary>
    public required string Name { get; init; }

    public required TokenScope Scope { get; init; }

    public required Instant CreatedAt { get; init; }

    public required Instant ExpiresAt { get; init; }

    public Instant? LastUsedAt { get; set; }

    public Instant? RevokedAt { get; set; }

    /// <summary>The person's security stamp when it was made: signing out everywhere ends the token too.</summary>
    public required string SecurityStamp { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<ApiToken>
    {
        public void Configure(EntityTypeBuilder<ApiToken> entity)
        {
            entity.ToTable("api_tokens", "people");
            // Written by the database where a node of the release before makes a token.
            entity.Property(t => t.Name).HasDefaultValue("");
            entity.Property(t => t.Scope).HasDefaultValue(TokenScope.Full);
            entity.HasIndex(t => t.Hash).IsUnique();
            entity.HasIndex(t => t.PersonId);
            // Those that ended long ago, to be cleared.
            entity.HasIndex(t => t.ExpiresAt);
        }
    }
}
