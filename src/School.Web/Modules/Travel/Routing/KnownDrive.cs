using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Travel;

namespace School.Web.Modules.Travel.Routing;

/// <summary>A drive that the routing server told, kept for a while.</summary>
internal sealed class KnownDrive
{
    public required long FromCell { get; init; }

    public required long ToCell { get; init; }

    /// <summary>Null, with the distance, where the server knows no road.</summary>
    public required double? Seconds { get; init; }

    public required double? Metres { get; init; }

    public required Instant AskedAt { get; init; }

    public (Cell From, Cell To) Pair => (new(FromCell), new(ToCell));

    public RoutedDrive? Drive => Seconds is { } seconds && Metres is { } metres ? new(seconds, metres) : null;

    internal sealed class Configuration : IEntityTypeConfiguration<KnownDrive>
    {
        public void Configure(EntityTypeBuilder<KnownDrive> entity)
        {
            entity.ToTable("drives", "travel");
            entity.HasKey(drive => new { drive.FromCell, drive.ToCell });
            entity.HasIndex(drive => drive.AskedAt);
            entity.Ignore(drive => drive.Pair).Ignore(drive => drive.Drive);
        }
    }
}
