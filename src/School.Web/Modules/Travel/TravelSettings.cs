using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using School.Core.Travel;
using School.Web.Platform.Database;

namespace School.Web.Modules.Travel;

/// <summary>Parameters of the straight-line travel model; there is one row.</summary>
internal sealed class TravelSettings : Versioned
{
    public static readonly Guid Only = new("00000000-0000-7000-8000-000000000003");

    /// <summary>Road distance over straight-line distance.</summary>
    public double DetourFactor { get; set; }

    /// <summary>Miles an hour for each hour of a weekday, 24 numbers.</summary>
    public List<double> WeekdayMph { get; set; } = [];

    public List<double> SaturdayMph { get; set; } = [];

    public List<double> SundayMph { get; set; } = [];

    public static TravelSettings From(StraightLineSettings settings) => new TravelSettings { Id = Only }.Take(settings);

    public TravelSettings Take(StraightLineSettings settings)
    {
        DetourFactor = settings.DetourFactor;
        WeekdayMph = [.. settings.WeekdayMph];
        SaturdayMph = [.. settings.SaturdayMph];
        SundayMph = [.. settings.SundayMph];
        return this;
    }

    public StraightLineSettings ToSettings() => new()
    {
        DetourFactor = DetourFactor,
        WeekdayMph = WeekdayMph,
        SaturdayMph = SaturdayMph,
        SundayMph = SundayMph,
    };

    internal sealed class Configuration : IEntityTypeConfiguration<TravelSettings>
    {
        public void Configure(EntityTypeBuilder<TravelSettings> entity) => entity.ToTable("settings", "travel");
    }
}
