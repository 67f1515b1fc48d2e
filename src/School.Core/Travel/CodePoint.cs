using System.Globalization;

namespace School.Core.Travel;

/// <summary>What a line of a postcode file says.</summary>
public enum CodePointKind
{
    /// <summary>A postcode and where it lies.</summary>
    Taken,

    /// <summary>A postcode of which nobody knows where it lies; it is left out.</summary>
    WithoutPosition,

    /// <summary>Not a line of such a file; the file as a whole cannot be used.</summary>
    Faulty,
}

/// <summary>A postcode and where it lies.</summary>
/// <param name="Postcode">In its usual form, with one space.</param>
/// <param name="At">The middle of its addresses, or of the sector where <paramref name="Quality"/> is rough.</param>
/// <param name="Quality">10 to 60 as the file says; from <see cref="CodePoint.Rough"/> on only roughly.</param>
public readonly record struct PostcodePoint(string Postcode, Coordinates At, int Quality);

/// <summary>The first four columns of a postcode file, wherever they stand.</summary>
/// <param name="Postcode">Index of the postcode.</param>
/// <param name="Quality">Index of the positional quality.</param>
/// <param name="Easting">Index of the easting.</param>
/// <param name="Northing">Index of the northing.</param>
/// <param name="Count">How many columns a line has.</param>
public sealed record CodePointColumns(int Postcode, int Quality, int Easting, int Northing, int Count)
{
    /// <summary>As published: ten columns, the four first, no header.</summary>
    public static CodePointColumns Published { get; } = new(0, 1, 2, 3, 10);

    private static readonly string[][] Names =
    [
        ["PC", "Postcode"], ["PQ", "Positional_quality_indicator"], ["EA", "Eastings"], ["NO", "Northings"],
    ];

    /// <summary>The columns by a line of their names, short or long, in any order; null when the line is not such a header.</summary>
    public static CodePointColumns? OfHeader(string line)
    {
        var fields = CodePoint.Split(line) ?? [];
        var found = Array.ConvertAll(Names, names => fields.FindIndex(field => names.Contains(field.Trim(), StringComparer.OrdinalIgnoreCase)));
        return found.Contains(-1) ? null : new(found[0], found[1], found[2], found[3], fields.Count);
    }
}

/// <summary>Reads lines of the open postcode file of Great Britain.</summary>
/// <remarks>
/// Source: OS Code-Point Open, technical specification and user guide (docs.os.uk): text in double quotes, numbers bare, ten columns.
/// Quality 10 to 50 is a place among the postcode's addresses or its neighbours, 60 the middle of its sector, 90 no position (0, 0).
/// </remarks>
public static class CodePoint
{
    /// <summary>Characters of the longest line that is read; the file's own have about 100.</summary>
    public const int LongestLine = 1000;

    /// <summary>From this quality on a position is told as rough.</summary>
    public const int Rough = 60;

    private const int NoPosition = 90;

    /// <summary>Reads a line.</summary>
    /// <param name="line">Without its line end.</param>
    /// <param name="columns">Where the four columns stand.</param>
    /// <param name="point">The postcode; empty unless taken.</param>
    /// <param name="problem">What is wrong, as the rest of a sentence that begins with file and line; empty unless faulty.</param>
    public static CodePointKind Read(string line, CodePointColumns columns, out PostcodePoint point, out string problem)
    {
        ArgumentNullException.ThrowIfNull(line);
        ArgumentNullException.ThrowIfNull(columns);
        point = default;
        problem = "";
        if (Split(line) is not { } fields)
        {
            problem = "a quotation mark is not closed. The file may be cut off here.";
            return CodePointKind.Faulty;
        }

        if (fields.Count != columns.Count)
        {
            problem = $"{fields.Count} columns, where {columns.Count} are expected.";
            return CodePointKind.Faulty;
        }

        if (!Travel.Postcode.TryParse(fields[columns.Postcode], out var postcode, out _))
        {
            problem = $"“{Shown(fields[columns.Postcode])}” stands where the postcode is expected.";
            return CodePointKind.Faulty;
        }

        if (!TryWhole(fields[columns.Quality], out var quality) || quality is not (10 or 20 or 30 or 40 or 50 or Rough or NoPosition))
        {
            problem = $"“{Shown(fields[columns.Quality])}” stands where the quality of the position is expected (10, 20, 30, 40, 50, 60 or 90).";
            return CodePointKind.Faulty;
        }

        if (!TryWhole(fields[columns.Easting], out var easting) || !TryWhole(fields[columns.Northing], out var northing))
        {
            problem = $"“{Shown(fields[columns.Easting])}” and “{Shown(fields[columns.Northing])}” stand where easting and northing are expected, in whole metres.";
            return CodePointKind.Faulty;
        }

        if (quality == NoPosition)
        {
            return CodePointKind.WithoutPosition;
        }

        if ((easting, northing) == (0, 0) || !NationalGrid.TryToWgs84(easting, northing, out var at))
        {
            problem = $"{easting}, {northing} lies outside Great Britain.";
            return CodePointKind.Faulty;
        }

        point = new(postcode.ToString(), at, quality);
        return CodePointKind.Taken;
    }

    /// <summary>The fields of a line, their quotation marks taken off; null when one is not closed.</summary>
    internal static List<string>? Split(string line)
    {
        var fields = new List<string>(10);
        var from = 0;
        while (true)
        {
            if (from < line.Length && line[from] == '"')
            {
                var end = line.IndexOf('"', from + 1);
                if (end < 0)
                {
                    return null;
                }

                fields.Add(line[(from + 1)..end]);
                from = end + 1;
                if (from < line.Length && line[from] != ',')
                {
                    return null;
                }
            }
            else
            {
                var end = line.IndexOf(',', from);
                fields.Add(line[from..(end < 0 ? line.Length : end)]);
                from = end < 0 ? line.Length : end;
            }

            if (from >= line.Length)
            {
                return fields;
            }

            from++;
        }
    }

    private static bool TryWhole(string text, out int value) => int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out value);

    private static string Shown(string text) => text.Length > 30 ? text[..30] + "…" : text;
}
