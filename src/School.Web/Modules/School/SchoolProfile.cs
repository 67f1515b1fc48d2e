using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using School.Web.Platform.Database;

namespace School.Web.Modules.School;

/// <summary>The school itself; there is one row.</summary>
internal sealed class SchoolProfile : Versioned
{
    public static readonly Guid Only = new("00000000-0000-7000-8000-000000000001");

    public required string Name { get; set; }

    public required string Phone { get; set; }

    public required string Email { get; set; }

    /// <summary>IANA zone of every wall-clock time in the diary.</summary>
    public required string Zone { get; set; }

    public bool TwelveHourClock { get; set; }

    /// <summary>Which bank holidays and notice days count here.</summary>
    public required string Nation { get; set; }

    /// <summary>Text pupils see when they book: terms, what to bring.</summary>
    public string Terms { get; set; } = "";

    /// <summary>A pupil belongs to the instructor with whom they usually learn: the office sees the diary, and of them the rest by reason.</summary>
    public bool PupilsBelongToInstructor { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<SchoolProfile>
    {
        public void Configure(EntityTypeBuilder<SchoolProfile> entity) => entity.ToTable("school", "people");
    }
}
