using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Access;

namespace School.Web.Modules.People;

/// <summary>Somebody who signs in. A pupil or instructor is linked to their row; the office is not.</summary>
internal sealed class Person : IdentityUser<Guid>
{
    public required string Name { get; set; }

    public required Role Role { get; init; }

    public Guid? InstructorId { get; init; }

    public Guid? PupilId { get; init; }

    /// <summary>No sign-in any more; the history that names them stays.</summary>
    public bool Closed { get; set; }

    public Instant? LastSignIn { get; set; }

    /// <summary>Goes with the newest link for a new password; a change of it ends the links before, and nothing else.</summary>
    public string? ResetStamp { get; set; }

    internal sealed class Configuration :
        IEntityTypeConfiguration<Person>,
        IEntityTypeConfiguration<IdentityUserClaim<Guid>>,
        IEntityTypeConfiguration<IdentityUserLogin<Guid>>,
        IEntityTypeConfiguration<IdentityUserToken<Guid>>,
        IEntityTypeConfiguration<IdentityUserPasskey<Guid>>
    {
        public void Configure(EntityTypeBuilder<Person> entity)
        {
            entity.ToTable("people", "people");
            entity.Property(p => p.Id).ValueGeneratedNever();
            entity.HasIndex(p => p.NormalizedEmail).IsUnique().HasDatabaseName("people_email_once");
            entity.HasIndex(p => p.NormalizedUserName).IsUnique().HasDatabaseName("people_user_name_once");
            // The list of the office: of all who ever signed in, pupils are nearly all.
            entity.HasIndex(p => p.Role).HasFilter("role <> 'Pupil'").HasDatabaseName("people_of_the_staff");
            entity.HasIndex(p => p.InstructorId).IsUnique();
            entity.HasIndex(p => p.PupilId).IsUnique();
            entity.Property(p => p.ConcurrencyStamp).IsConcurrencyToken();
        }

        public void Configure(EntityTypeBuilder<IdentityUserClaim<Guid>> entity) => entity.ToTable("person_claims", "people");

        public void Configure(EntityTypeBuilder<IdentityUserLogin<Guid>> entity)
        {
            entity.ToTable("person_logins", "people");
            entity.HasKey(l => new { l.LoginProvider, l.ProviderKey });
        }

        public void Configure(EntityTypeBuilder<IdentityUserToken<Guid>> entity)
        {
            entity.ToTable("person_tokens", "people");
            entity.HasKey(t => new { t.UserId, t.LoginProvider, t.Name });
        }

        public void Configure(EntityTypeBuilder<IdentityUserPasskey<Guid>> entity)
        {
            entity.ToTable("person_passkeys", "people");
            entity.HasKey(p => p.CredentialId);
            entity.OwnsOne(p => p.Data).ToJson();
        }
    }
}
