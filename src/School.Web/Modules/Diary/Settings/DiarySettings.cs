using System.Text.Json;
using System.Text.Json.Serialization;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.ChangeTracking;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using School.Core.Diary;
using School.Web.Platform.Api;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Settings;

/// <summary>The school's booking rules; there is one row.</summary>
internal sealed class DiarySettings : Versioned
{
    public static readonly Guid Only = new("00000000-0000-7000-8000-000000000002");

    // A newer release may know more of a kind, or more kinds, while an older node still reads the row.
    private static readonly JsonSerializerOptions Kept = new(Json.Configure(new())) { UnmappedMemberHandling = JsonUnmappedMemberHandling.Skip };

    public required DiaryRules Rules { get; set; }

    private static IReadOnlyList<KindRule> KnownOf(string text) =>
        [.. JsonSerializer.Deserialize<List<JsonElement>>(text, Kept)!.Where(IsKnown).Select(kind => kind.Deserialize<KindRule>(Kept)!)];

    private static bool IsKnown(JsonElement kind) =>
        kind.ValueKind == JsonValueKind.Object && kind.TryGetProperty("kind", out var word) && word.ValueKind == JsonValueKind.String
        && QueryWord<LessonKind>.TryParse(word.GetString(), null, out _);

    internal sealed class Configuration : IEntityTypeConfiguration<DiarySettings>
    {
        public void Configure(EntityTypeBuilder<DiarySettings> entity)
        {
            entity.ToTable("settings", "diary");
            entity.ComplexProperty(s => s.Rules, rules =>
            {
                rules.Property(r => r.OnlyInServedAreas).HasDefaultValue(false);
                rules.Property(r => r.TellsLate).HasDefaultValue(LateTelling.Never);
                rules.Property(r => r.MapLink).HasDefaultValue("");
                rules.Property(r => r.Kinds).HasColumnType("jsonb").HasDefaultValueSql("'[]'").HasConversion(
                    kinds => JsonSerializer.Serialize(kinds, Kept), text => KnownOf(text),
                    new ValueComparer<IReadOnlyList<KindRule>>(
                        (one, other) => JsonSerializer.Serialize(one, Kept) == JsonSerializer.Serialize(other, Kept),
                        kinds => JsonSerializer.Serialize(kinds, Kept).GetHashCode(StringComparison.Ordinal), kinds => kinds));
                foreach (var rule in rules.Metadata.ComplexType.GetProperties())
                {
                    rule.SetColumnName(JsonNamingPolicy.SnakeCaseLower.ConvertName(rule.Name));
                }
            });
        }
    }
}
