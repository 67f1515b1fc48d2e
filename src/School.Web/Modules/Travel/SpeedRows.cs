using System.Globalization;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Core.Travel;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Travel;

/// <summary>One line of the form: a speed from an hour on. Without a speed the line does not count.</summary>
internal sealed class SpeedRow
{
    public string? From { get; set; }

    public string? Mph { get; set; }
}

/// <summary>A day's speeds as lines that people edit.</summary>
internal static class SpeedRows
{
    private const int Spare = 2;
    private const int HoursOfDay = 24;

    public static IEnumerable<SelectListItem> Hours { get; } =
        [.. Enumerable.Range(0, HoursOfDay).Select(hour => new SelectListItem(ScreenWords.Time(new LocalTime(hour, 0)), $"{hour}"))];

    public static List<SpeedRow> Of(IReadOnlyList<double> mph) => Padded(
        [.. SpeedBands.Of(mph).Select(band => new SpeedRow { From = $"{band.From}", Mph = band.Mph.ToString(CultureInfo.InvariantCulture) })]);

    /// <summary>With empty lines at the end, to add speeds with.</summary>
    public static List<SpeedRow> Padded(List<SpeedRow> rows)
    {
        var used = rows.FindLastIndex(row => !string.IsNullOrWhiteSpace(row.Mph)) + 1;
        return [.. rows.Take(Math.Min(used, HoursOfDay)), .. Enumerable.Range(0, Math.Clamp(HoursOfDay - used, 0, Spare)).Select(_ => new SpeedRow())];
    }

    /// <summary>24 speeds, NaN for one that cannot be read; or what is wrong with the hours.</summary>
    public static (IReadOnlyList<double> Mph, string? Problem) Read(IEnumerable<SpeedRow> rows)
    {
        var used = rows.Where(row => !string.IsNullOrWhiteSpace(row.Mph)).ToList();
        var starts = used.ConvertAll(row => (From: int.TryParse(row.From, NumberStyles.None, CultureInfo.InvariantCulture, out var hour) ? hour : -1, Mph: Number(row.Mph)));
        if (starts.Exists(start => start.From < 0))
        {
            return ([], "Choose from when each speed holds.");
        }

        return SpeedBands.ToHours(starts) is { } hours ? (hours, null) : ([], "Give a speed from midnight on, and each later hour once.");
    }

    /// <summary>Numbers are written with a full stop whatever the server's language; what is none is refused with the rest.</summary>
    public static double Number(string? typed) =>
        double.TryParse(typed, NumberStyles.Float, CultureInfo.InvariantCulture, out var number) ? number : double.NaN;
}
