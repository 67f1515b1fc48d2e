using System.Globalization;
using School.Core.Syllabus.Readiness;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Syllabus.Readiness;

/// <summary>Forecasts as a person would say them: whole hours and weeks, halves where there are few.</summary>
internal static class ReadinessWords
{
    /// <summary>Below so many lesson hours a forecast goes mostly by other pupils.</summary>
    public const double FewHours = 10;

    private const double Few = 5;

    /// <summary>To the minute, as every page writes lengths.</summary>
    public static string Exactly(double hours) => ScreenWords.Length((int)Math.Round(hours * 60));

    /// <summary>A pace to the quarter of an hour.</summary>
    public static string Pace(double hoursPerWeek) => ScreenWords.Length(Math.Max(1, (int)Math.Round(hoursPerWeek * 4)) * 15);

    public static string Hours(double hours) => Said(hours, "hour");

    public static string Weeks(double weeks) => Said(weeks, "week");

    public static string Share(double share) => string.Create(CultureInfo.InvariantCulture, $"{Math.Floor(share * 100):0} %");

    /// <summary>Like “11 to 28”; no halves where the upper end has none.</summary>
    public static string Between(ReadinessRange range) =>
        $"{(range.High < Few ? Number(range.Low) : Whole(range.Low))} to {Number(range.High)}";

    /// <summary>The number alone.</summary>
    public static string Number(double number) =>
        number < Few
            ? (Math.Round(number * 2, MidpointRounding.AwayFromZero) / 2).ToString("0.#", CultureInfo.InvariantCulture)
            : Whole(number);

    private static string Whole(double number) => Math.Round(number, MidpointRounding.AwayFromZero).ToString("0", CultureInfo.InvariantCulture);

    private static string Said(double number, string unit) => Number(number) is var said && said == "1" ? $"1 {unit}" : $"{said} {unit}s";
}
