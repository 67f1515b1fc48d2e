using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.People.SignIn;

/// <summary>One browser on which somebody is signed in; of what its cookie holds only the SHA-256 is kept, so that nobody can make the cookie from the row.</summary>
internal sealed class Session
{
    public Guid Id { get; init; } = RowId.New();

    public required Guid PersonId { get; init; }

    public required byte[] Hash { get; init; }

    /// <summary>Words for the browser and its machine, such as "Firefox on Android".</summary>
    public required string Device { get; init; }

    public required Instant StartedAt { get; init; }

    /// <summary>An absolute limit: using the pages does not put it off (OWASP ASVS 5.0 V7.3.2).</summary>
    public required Instant EndsAt { get; init; }

    public required Instant LastUsedAt { get; set; }

    public Instant? EndedAt { get; set; }

    /// <summary>When the password was last given again here, for what wants it again.</summary>
    public Instant? ProvedAt { get; set; }

    /// <summary>The person's security stamp at the time: a new password, signing out everywhere and a closed sign-in end the session.</summary>
    public required string SecurityStamp { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<Session>
    {
        public void Configure(EntityTypeBuilder<Session> entity)
        {
            entity.ToTable("sessions", "people");
            entity.Property(s => s.Id).ValueGeneratedNever();
            entity.HasIndex(s => s.Hash).IsUnique();
            entity.HasIndex(s => s.PersonId);
            // Those that ended long ago, to be cleared.
            entity.HasIndex(s => s.EndsAt);
            entity.HasOne<Person>().WithMany().HasForeignKey(s => s.PersonId).OnDelete(DeleteBehavior.Cascade);
        }
    }
}
