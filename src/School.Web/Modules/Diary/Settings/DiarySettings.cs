using System.Text.Json;
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

    private static readonly JsonSerializerOptions Kept = Json.Configure(new());

    public required DiaryRules Rules { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<DiarySettings>
    {
        public void Configure(EntityTypeBuilder<DiarySettings> entity)
        {
            entity.ToTable("settings", "diary");
            entity.ComplexProperty(s => s.Rules, rules =>
            {
                rules.Property(r => r.Kinds).HasColumnType("jsonb").HasDefaultValueSql("'[]'").HasConversion(
                    kinds => JsonSerializer.Serialize(kinds, Kept), text => JsonSerializer.Deserialize<IReadOnlyList<KindRule>>(text, Kept)!,
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
