using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;

namespace School.Web.Modules.Messages.Writing;

/// <summary>
/// The school as its letters told of it at a time, and the edition of the wording: with it and its own facts a letter that went says the
/// same later, whatever the school and the program say by then. One row for all letters that have the same.
/// </summary>
internal sealed class KeptLetterhead
{
    public int Id { get; private init; }

    /// <summary>SHA-256 of the content, so that each is kept once.</summary>
    public required byte[] Digest { get; init; }

    /// <summary>A <see cref="Letterhead"/> in JSON.</summary>
    public required string Content { get; init; }

    /// <summary>When the first letter went with it.</summary>
    public required Instant FirstAt { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<KeptLetterhead>
    {
        public void Configure(EntityTypeBuilder<KeptLetterhead> entity)
        {
            entity.ToTable("letterheads", "messages");
            entity.Property(h => h.Content).HasColumnType("jsonb");
            entity.HasIndex(h => h.Digest).IsUnique().HasDatabaseName("letterheads_once");
        }
    }
}
