using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.People.SignIn;

/// <summary>
/// A try to sign in that was refused; gone as soon as a job has made a line of the audit of it. Written for unknown names too, so that
/// a known one takes no longer.
/// </summary>
internal sealed class WrongTry
{
    public Guid Id { get; init; } = RowId.New();

    /// <summary>Whose account; null where the name is nobody's.</summary>
    public Guid? PersonId { get; init; }

    /// <summary>"password" or "code".</summary>
    public required string What { get; init; }

    /// <summary>It was one too many and was not even looked at.</summary>
    public required bool Locked { get; init; }

    public required Instant At { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<WrongTry>
    {
        public void Configure(EntityTypeBuilder<WrongTry> entity)
        {
            entity.ToTable("wrong_tries", "people");
            entity.Property(t => t.Id).ValueGeneratedNever();
        }
    }
}
