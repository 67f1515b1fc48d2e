using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus.Readiness;

/// <summary>That an instructor lets a pupil see the forecast, and what they say about it. One for each pupil; none, and the pupil sees nothing.</summary>
internal sealed class SharedForecast : Versioned
{
    public const int LongestSentence = 500;

    public required Guid PupilId { get; init; }

    /// <summary>In the instructor's own words, for the pupil.</summary>
    public required string Sentence { get; set; }

    public required Guid ByPersonId { get; set; }

    public required string ByName { get; set; }

    public required Instant SharedAt { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<SharedForecast>
    {
        public void Configure(EntityTypeBuilder<SharedForecast> entity)
        {
            entity.ToTable("shared_forecasts", "syllabus");
            entity.HasIndex(f => f.PupilId).IsUnique();
        }
    }
}
