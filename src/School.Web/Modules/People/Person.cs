using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Access;

namespace School.Web.Modules.People;

/// <summary>Somebody who signs in, with the hats that they wear. Their user name is what they sign in with; their e-mail address is where letters go.</summary>
internal sealed class Person : IdentityUser<Guid>
{
    private const string Forgotten = "somebody who was beside a pupil";

    public required string Name { get; set; }

    /// <summary>What of the office they look after; none, where they are not of the office.</summary>
    public OfficeParts Parts { get; set; }

    /// <summary>Who they are as an instructor.</summary>
    public Guid? InstructorId { get; set; }

    /// <summary>Who they are as a pupil.</summary>
    public Guid? PupilId { get; set; }

    /// <summary>Who they are as somebody beside pupils.</summary>
    public Guid? ContactId { get; set; }

    /// <summary>Rises with every change of the hats; what a page or a program saw of them.</summary>
    public int HatsVersion { get; set; } = 1;

    public bool IsStaff => Parts != OfficeParts.None || InstructorId is not null;

    /// <summary>Nobody can sign in as them before they have chosen a name: another has their address.</summary>
    public bool AwaitsName => UserName is null;

    /// <summary>No sign-in any more; the history that names them stays.</summary>
    public bool Closed { get; set; }

    public Instant? LastSignIn { get; set; }

    /// <summary>When they last followed the link of a letter that was sent to find out whether letters reach them.</summary>
    public Instant? ReachedAt { get; set; }

    /// <summary>The mail server that carried that letter; empty where none did.</summary>
    public string ReachedBy { get; set; } = "";

    /// <summary>Nothing is left of whoever signed in here but the id that the history names: no name, no address, no hat.</summary>
    public void Forget()
    {
        (ContactId, Closed, PasswordHash, TwoFactorEnabled, EmailConfirmed) = (null, true, null, false, false);
        (ReachedAt, ReachedBy) = (null, "");
        (Name, Email, NormalizedEmail, UserName, NormalizedUserName, ResetStamp) = (Forgotten, "", "", null, null, null);
        HatsVersion++;
    }

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
            entity.HasIndex(p => p.NormalizedEmail).HasDatabaseName("people_email");
            entity.HasIndex(p => p.NormalizedUserName).IsUnique().HasDatabaseName("people_user_name_once");
            entity.Property(p => p.Parts).HasConversion<int>();
            entity.Property(p => p.HatsVersion).HasDefaultValue(1);
            // The list of the office: of all who ever signed in, pupils are nearly all.
            entity.HasIndex(p => p.Name).HasFilter("parts <> 0").HasDatabaseName("people_of_the_office");
            entity.HasIndex(p => p.InstructorId).IsUnique();
            entity.HasIndex(p => p.PupilId).IsUnique();
            entity.HasIndex(p => p.ContactId).IsUnique();
            entity.HasOne<Contact>().WithMany().HasForeignKey(p => p.ContactId).OnDelete(DeleteBehavior.Restrict);
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
