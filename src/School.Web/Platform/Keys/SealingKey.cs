using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Platform.Keys;

/// <summary>A key of the guarded columns, apart from those of cookies and links: these may be thrown away, that one never.</summary>
internal sealed class SealingKey
{
    public const string Purpose = "School.SealingKey.v1";

    public Guid Id { get; init; } = RowId.New();

    public required Instant MadeAt { get; init; }

    /// <summary>The id of the outer key that wraps it; null while it stands readable.</summary>
    public string? WrappedBy { get; set; }

    public required byte[] Key { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<SealingKey>
    {
        public void Configure(EntityTypeBuilder<SealingKey> entity)
        {
            entity.ToTable("sealing_keys", "platform");
            entity.Property(k => k.Id).ValueGeneratedNever();
        }
    }
}
