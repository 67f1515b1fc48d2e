using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Travel;

namespace School.Web.Modules.Places;

/// <summary>A postcode of the file that was loaded last, and where it lies.</summary>
internal sealed class PostcodeRow
{
    /// <summary>In its usual form, with one space.</summary>
    public required string Postcode { get; init; }

    public required double Latitude { get; init; }

    public required double Longitude { get; init; }

    /// <summary>As the file says: 10 to 50, or 60 for a position that is only rough.</summary>
    public required short Quality { get; init; }

    public Coordinates At() => new(Latitude, Longitude);

    internal sealed class Configuration : IEntityTypeConfiguration<PostcodeRow>
    {
        public void Configure(EntityTypeBuilder<PostcodeRow> entity)
        {
            entity.ToTable("postcodes", "places");
            entity.HasKey(p => p.Postcode);
            // Those around a position: of 1.7 million some hundreds where they are dense.
            entity.HasIndex(p => new { p.Latitude, p.Longitude });
        }
    }
}

/// <summary>The middle of a postcode district: the mean of its postcodes.</summary>
internal sealed class DistrictRow
{
    public required string District { get; init; }

    public required double Latitude { get; init; }

    public required double Longitude { get; init; }

    public required int Postcodes { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<DistrictRow>
    {
        public void Configure(EntityTypeBuilder<DistrictRow> entity)
        {
            entity.ToTable("districts", "places");
            entity.HasKey(d => d.District);
        }
    }
}

/// <summary>The file that the postcodes came from; there is one row, or none yet.</summary>
internal sealed class PostcodeSet
{
    public const int Only = 1;

    public int Id { get; init; } = Only;

    /// <summary>The file's name.</summary>
    public required string Name { get; set; }

    public required Instant LoadedAt { get; set; }

    public required int Postcodes { get; set; }

    /// <summary>Of them, those that lie only roughly where the file says.</summary>
    public required int Roughly { get; set; }

    /// <summary>Left out because the file has no position of them.</summary>
    public required int LeftOut { get; set; }

    public required int Districts { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<PostcodeSet>
    {
        public void Configure(EntityTypeBuilder<PostcodeSet> entity)
        {
            entity.ToTable("postcode_set", "places");
            entity.Property(s => s.Id).ValueGeneratedNever();
        }
    }
}
