using NodaTime;
using static NodaTime.IsoDayOfWeek;

namespace School.Core.Diary.Time;

/// <summary>A part of the United Kingdom with bank holidays of its own.</summary>
public enum Nation
{
    /// <summary>England and Wales.</summary>
    EnglandAndWales,

    /// <summary>Scotland.</summary>
    Scotland,

    /// <summary>Northern Ireland.</summary>
    NorthernIreland,
}

/// <summary>A bank holiday.</summary>
/// <param name="Date">The day off.</param>
/// <param name="Name">Its usual name.</param>
/// <param name="IsSubstitute">True when the holiday itself fell on a weekend and this weekday replaces it.</param>
public sealed record BankHoliday(LocalDate Date, string Name, bool IsSubstitute = false);

/// <summary>
/// Bank holidays by rule, with the days that proclamations have added or moved. A later proclamation is not known here:
/// a school keeps its own list and edits it.
/// </summary>
/// <remarks>
/// Source: GOV.UK bank holidays, years 2019 to 2028, which the rules reproduce. Legal base, from memory: Banking and Financial
/// Dealings Act 1971 schedule 1 and yearly proclamations; St Andrew's Day Bank Holiday (Scotland) Act 2007.
/// </remarks>
public static class BankHolidays
{
    /// <summary>The first year for which the moved and added days are known.</summary>
    public const int FirstYear = 2019;

    /// <summary>The last year of the calendar in use here.</summary>
    public const int LastYear = 9998;

    private static readonly Nation[] All = [Nation.EnglandAndWales, Nation.Scotland, Nation.NorthernIreland];

    private static readonly (LocalDate Date, string Name, Nation[] Where)[] Added =
    [
        (new(2022, 6, 3), "Platinum Jubilee bank holiday", All),
        (new(2022, 9, 19), "Bank holiday for the State Funeral of Queen Elizabeth II", All),
        (new(2023, 5, 8), "Bank holiday for the coronation of King Charles III", All),
        (new(2026, 6, 15), "World Cup bank holiday", [Nation.Scotland]),
    ];

    private static readonly Dictionary<LocalDate, LocalDate> Moved = new()
    {
        [new(2020, 5, 4)] = new(2020, 5, 8), // 75 years after VE day
        [new(2022, 5, 30)] = new(2022, 6, 2), // Platinum Jubilee
    };

    /// <summary>The bank holidays of one year, by date.</summary>
    /// <param name="nation">Whose.</param>
    /// <param name="year">From <see cref="FirstYear"/> to <see cref="LastYear"/>.</param>
    /// <exception cref="ArgumentOutOfRangeException">The year is outside these bounds.</exception>
    public static IReadOnlyList<BankHoliday> Of(Nation nation, int year)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(year, FirstYear);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(year, LastYear);

        var days = new List<BankHoliday>();
        foreach (var (date, name) in ByRule(nation, year))
        {
            days.Add(OnWeekday(date, name, days));
        }

        days.AddRange(Added.Where(day => day.Date.Year == year && day.Where.Contains(nation))
            .Select(day => new BankHoliday(day.Date, day.Name)));
        return [.. days.OrderBy(day => day.Date)];
    }

    /// <summary>Easter Sunday in the Gregorian calendar.</summary>
    /// <param name="year">1583 to 9998.</param>
    /// <remarks>
    /// The anonymous algorithm of Nature, 20 April 1876, printed by Meeus, Astronomical Algorithms, chapter 8 (from memory).
    /// </remarks>
    public static LocalDate EasterSunday(int year)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(year, 1583);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(year, LastYear);

        var golden = year % 19;
        var (century, inCentury) = Math.DivRem(year, 100);
        var (leapCenturies, centuryRest) = Math.DivRem(century, 4);
        var (leapYears, yearRest) = Math.DivRem(inCentury, 4);
        var moonCorrection = (century - (century + 8) / 25 + 1) / 3;
        var epact = (19 * golden + century - leapCenturies - moonCorrection + 15) % 30;
        var weekday = (32 + 2 * centuryRest + 2 * leapYears - epact - yearRest) % 7;
        var late = (golden + 11 * epact + 22 * weekday) / 451;
        var (month, day) = Math.DivRem(epact + weekday - 7 * late + 114, 31);
        return new LocalDate(year, month, day + 1);
    }

    private static IEnumerable<(LocalDate Date, string Name)> ByRule(Nation nation, int year)
    {
        var (scotland, ireland) = (nation == Nation.Scotland, nation == Nation.NorthernIreland);
        var easter = EasterSunday(year);

        yield return (new(year, 1, 1), "New Year’s Day");
        if (scotland)
        {
            yield return (new(year, 1, 2), "2nd January");
        }

        if (ireland)
        {
            yield return (new(year, 3, 17), "St Patrick’s Day");
        }

        yield return (easter.PlusDays(-2), "Good Friday");
        if (!scotland)
        {
            yield return (easter.PlusDays(1), "Easter Monday");
        }

        yield return (PossiblyMoved(FirstMonday(year, 5)), "Early May bank holiday");
        yield return (PossiblyMoved(LastMonday(year, 5)), "Spring bank holiday");
        if (ireland)
        {
            yield return (new(year, 7, 12), "Battle of the Boyne (Orangemen’s Day)");
        }

        yield return (scotland ? FirstMonday(year, 8) : LastMonday(year, 8), "Summer bank holiday");
        if (scotland)
        {
            yield return (new(year, 11, 30), "St Andrew’s Day");
        }

        // Boxing Day keeps its Monday when Christmas Day falls on the Sunday before.
        (LocalDate, string) christmas = (new(year, 12, 25), "Christmas Day"), boxing = (new(year, 12, 26), "Boxing Day");
        var boxingFirst = christmas.Item1.DayOfWeek == Sunday;
        yield return boxingFirst ? boxing : christmas;
        yield return boxingFirst ? christmas : boxing;
    }

    private static BankHoliday OnWeekday(LocalDate date, string name, List<BankHoliday> taken)
    {
        var free = date;
        while (free.DayOfWeek is Saturday or Sunday || taken.Any(day => day.Date == free))
        {
            free = free.PlusDays(1);
        }

        return new(free, name, IsSubstitute: free != date);
    }

    private static LocalDate PossiblyMoved(LocalDate date) => Moved.GetValueOrDefault(date, date);

    private static LocalDate FirstMonday(int year, int month) =>
        new LocalDate(year, month, 1).With(DateAdjusters.NextOrSame(Monday));

    private static LocalDate LastMonday(int year, int month) =>
        new LocalDate(year, month, 1).With(DateAdjusters.EndOfMonth).With(DateAdjusters.PreviousOrSame(Monday));
}
