using System.Globalization;
using NodaTime;
using School.Core.Papers;

namespace School.Web.Modules.Office;

/// <summary>A piece of the year's road in hundredths of its length: where a paper is good, and whether it begins and ends on it.</summary>
internal sealed record RoadPiece(string From, string Length, string? Begin, string? End);

/// <summary>A year of days as a road from left to right, the same for every line of the list: a month that is past, and eleven to come.</summary>
internal sealed class PaperRoad(LocalDate today)
{
    private const int DaysBack = 31;
    private const int Days = 366;

    private readonly LocalDate _first = today.PlusDays(-DaysBack);

    public string Today => Text(At(today));

    /// <summary>First days of months, with the letter of each.</summary>
    public IEnumerable<(string At, string Letter)> Months =>
        from month in Enumerable.Range(1, 12)
        let day = new LocalDate(_first.Year, _first.Month, 1).PlusMonths(month)
        where At(day) < 100
        select (Text(At(day)), day.ToString("MMM", CultureInfo.InvariantCulture)[..1]);

    public RoadPiece Of(Paper paper)
    {
        if (paper.IsVoid)
        {
            return new("0", "0", null, null);
        }

        // A day is good to its end.
        var (from, until) = (paper.From is { } first ? At(first) : 0, paper.Until is { } last ? At(last.PlusDays(1)) : 100);
        return new(
            Text(Math.Clamp(from, 0, 100)), Text(Math.Max(0, Math.Clamp(until, 0, 100) - Math.Clamp(from, 0, 100))),
            from is > 0 and <= 100 ? Text(from) : null, until is >= 0 and < 100 ? Text(until) : null);
    }

    private double At(LocalDate day) => 100.0 * Period.DaysBetween(_first, day) / Days;

    private static string Text(double place) => string.Create(CultureInfo.InvariantCulture, $"{place:0.##}");
}
