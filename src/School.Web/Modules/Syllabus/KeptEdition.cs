using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Syllabus;
using School.Web.Platform.Api;

namespace School.Web.Modules.Syllabus;

/// <summary>One edition of the syllabus as it is kept; only ever added.</summary>
internal sealed class KeptEdition
{
    public static readonly JsonSerializerOptions Format = Json.Configure(new());

    /// <summary>1 for what was shipped, rising.</summary>
    public required int Number { get; init; }

    public required Instant MadeAt { get; init; }

    public required string MadeBy { get; init; }

    /// <summary>What is different from the edition before, in a sentence.</summary>
    public required string Words { get; init; }

    /// <summary>The groups with their skills, as JSON.</summary>
    public required string Content { get; init; }

    public static KeptEdition Of(SyllabusEdition edition, Instant madeAt, string madeBy, string words) => new()
    {
        Number = edition.Number,
        MadeAt = madeAt,
        MadeBy = madeBy,
        Words = words,
        Content = JsonSerializer.Serialize(edition.Groups, Format),
    };

    public SyllabusEdition Read() => new(Number, JsonSerializer.Deserialize<List<SkillGroup>>(Content, Format)!);

    internal sealed class Configuration : IEntityTypeConfiguration<KeptEdition>
    {
        public void Configure(EntityTypeBuilder<KeptEdition> entity)
        {
            entity.ToTable("editions", "syllabus");
            entity.HasKey(e => e.Number);
            entity.Property(e => e.Number).ValueGeneratedNever();
            entity.Property(e => e.Content).HasColumnType("jsonb");
        }
    }
}
