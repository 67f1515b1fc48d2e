using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.People;

/// <summary>Somebody asked for a new password; gone as soon as a job has looked whether anybody signs in by that name.</summary>
internal sealed class PasswordWish
{
    public const int Longest = 320;

    public Guid Id { get; init; } = RowId.New();

    /// <summary>As it was typed.</summary>
    public required string Name { get; init; }

    public required Instant At { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<PasswordWish>
    {
        public void Configure(EntityTypeBuilder<PasswordWish> entity)
        {
            entity.ToTable("password_wishes", "people");
            entity.Property(w => w.Id).ValueGeneratedNever();
        }
    }
}
