using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Records;

/// <summary>Who did or read what, when. Only ever added; ids and words, never the guarded value.</summary>
internal sealed class AuditEntry
{
    public Guid Id { get; init; } = RowId.New();

    public required Instant At { get; init; }

    public required Guid ByPersonId { get; init; }

    public required string ByName { get; init; }

    /// <summary>A code such as "pupil.guarded.read"; it begins with the kind of thing it is about.</summary>
    public required string What { get; init; }

    public Guid? AboutId { get; init; }

    /// <summary>The sentence that people read.</summary>
    public string Words { get; init; } = "";

    internal sealed class Configuration : IEntityTypeConfiguration<AuditEntry>
    {
        public void Configure(EntityTypeBuilder<AuditEntry> entity)
        {
            entity.ToTable("audit", "records");
            entity.Property(a => a.Id).ValueGeneratedNever();
            entity.HasIndex(a => a.AboutId);
            entity.HasIndex(a => a.At);
        }
    }
}
