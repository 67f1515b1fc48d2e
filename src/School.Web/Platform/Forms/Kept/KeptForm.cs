using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;

namespace School.Web.Platform.Forms.Kept;

/// <summary>A form that came once its sender was no longer signed in, kept until they are again.</summary>
internal sealed class KeptForm
{
    public required Guid Id { get; init; }

    public required Guid PersonId { get; init; }

    /// <summary>The address that it was sent to, its query included.</summary>
    public required string Address { get; init; }

    /// <summary>Encrypted.</summary>
    public required byte[] Fields { get; init; }

    public required Instant KeptAt { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<KeptForm>
    {
        public void Configure(EntityTypeBuilder<KeptForm> entity)
        {
            entity.ToTable("kept_forms", "platform");
            entity.HasIndex(f => new { f.PersonId, f.KeptAt });
            // Those whose hour is over.
            entity.HasIndex(f => f.KeptAt);
        }
    }
}
