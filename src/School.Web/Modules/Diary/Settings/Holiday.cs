using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;

namespace School.Web.Modules.Diary.Settings;

/// <summary>A public holiday of the school's nation; the list is the school's to edit.</summary>
internal sealed class Holiday
{
    public required string Nation { get; init; }

    public required LocalDate Date { get; init; }

    public required string Name { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<Holiday>
    {
        public void Configure(EntityTypeBuilder<Holiday> entity)
        {
            entity.ToTable("holidays", "diary");
            entity.HasKey(h => new { h.Nation, h.Date }).HasName("holidays_once");
        }
    }
}
