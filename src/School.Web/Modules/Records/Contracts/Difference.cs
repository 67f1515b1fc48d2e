using System.Globalization;
using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore.ChangeTracking;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Records.Contracts;

/// <summary>What is different about a row since it was read, in words made of the names of its fields.</summary>
internal static partial class Difference
{
    /// <summary>Longer values, such as a week of speeds, are only named.</summary>
    private const int LongestValue = 60;

    private static readonly string[] Units = [" minutes", " hours", " days"];

    /// <summary>"notice to book 24 → 48 hours, first leg is work no → yes"; empty when nothing is different.</summary>
    public static string Values(EntityEntry row) =>
        string.Join(", ", Changed(row).Concat(Parts(row).SelectMany(part => part.Properties.Where(p => p.IsModified))).Select(Value));

    /// <summary>"phone, pick up"; empty when nothing is different.</summary>
    public static string Fields(EntityEntry row) => string.Join(", ", Changed(row).Select(p => p.Metadata.Name)
        .Concat(Parts(row).Where(part => part.Properties.Any(p => p.IsModified)).Select(part => part.Metadata.Name)).Select(Words));

    /// <summary>But for who saw a paper when: the line itself says that.</summary>
    private static IEnumerable<ComplexPropertyEntry> Parts(EntityEntry row) => row.ComplexProperties.Where(part => part.Metadata.ClrType != typeof(Sighting));

    private static IEnumerable<PropertyEntry> Changed(EntityEntry row) =>
        row.Properties.Where(p => p.IsModified && p.Metadata.Name != nameof(Versioned.Version));

    private static string Value(PropertyEntry property)
    {
        var name = Words(property.Metadata.Name);
        var (before, after) = (Text(property.OriginalValue), Text(property.CurrentValue));
        if (before.Length > LongestValue || after.Length > LongestValue)
        {
            return name;
        }

        var unit = Array.Find(Units, last => name.EndsWith(last, StringComparison.Ordinal)) ?? "";
        return $"{name[..^unit.Length]} {before} → {after}{unit}";
    }

    private static string Words(string field)
    {
        var words = Capital().Replace(field, " $0").Trim().ToLowerInvariant();
        return words.StartsWith("mot ", StringComparison.Ordinal) ? $"MOT{words[3..]}" : words.EndsWith(" id", StringComparison.Ordinal) ? words[..^3] : words;
    }

    private static string Text(object? value) => value switch
    {
        null or "" => "none",
        bool yes => yes ? "yes" : "no",
        LocalDate date => date.ToString("d MMMM uuuu", CultureInfo.InvariantCulture),
        LocalTime time => time.ToString("HH:mm", CultureInfo.InvariantCulture),
        IEnumerable<int> numbers => string.Join(", ", numbers),
        IEnumerable<double> numbers => string.Join(", ", numbers.Select(n => Text(n))),
        Enum member => Words(member.ToString()),
        IFormattable formattable => formattable.ToString(null, CultureInfo.InvariantCulture),
        _ => value.ToString() ?? "",
    };

    [GeneratedRegex("[A-Z]")]
    private static partial Regex Capital();
}
