using System.Globalization;
using NodaTime;

namespace School.Web.Platform.Layout;

/// <summary>Days, times, lengths and money as a person reads them.</summary>
internal static class ScreenWords
{
    private static readonly CultureInfo English = CultureInfo.GetCultureInfo("en-GB");

    /// <summary>“Thursday 14 January”.</summary>
    public static string Day(LocalDate date) => date.ToString("dddd d MMMM", English);

    /// <summary>“Thursday 14 January 2027”.</summary>
    public static string DayAndYear(LocalDate date) => date.ToString("dddd d MMMM uuuu", English);

    /// <summary>“Thu 14”.</summary>
    public static string ShortDay(LocalDate date) => date.ToString("ddd d", English);

    /// <summary>“14 Jan”.</summary>
    public static string ShortDate(LocalDate date) => date.ToString("d MMM", English);

    /// <summary>“14:15”, or “2:15 pm” where the school counts in twelve hours.</summary>
    public static string Time(LocalTime time, bool twelveHour = false) =>
        twelveHour
            ? time.ToString("h:mm ", CultureInfo.InvariantCulture) + (time.Hour < 12 ? "am" : "pm")
            : time.ToString("HH:mm", CultureInfo.InvariantCulture);

    /// <summary>“08:30–10:00”.</summary>
    public static string Times(LocalTime start, LocalTime end, bool twelveHour = false) =>
        $"{Time(start, twelveHour)}–{Time(end, twelveHour)}";

    /// <summary>“Friday 15 January, 10:15–11:15”.</summary>
    public static string When(LocalDate date, LocalTime start, LocalTime end, bool twelveHour = false) =>
        $"{Day(date)}, {Times(start, end, twelveHour)}";

    /// <summary>“6½ hours”, “1 hour”, “50 min”, “1 h 40 min”.</summary>
    public static string Length(int minutes)
    {
        var (sign, left) = (minutes < 0 ? "−" : "", Math.Abs(minutes));
        var (hours, over) = (left / 60, left % 60);
        var part = over switch { 0 => "", 15 => "¼", 30 => "½", 45 => "¾", _ => null };
        return hours == 0 ? $"{sign}{left} min"
            : part is null ? $"{sign}{hours} h {over} min"
            : $"{sign}{hours}{part} {(hours == 1 && over == 0 ? "hour" : "hours")}";
    }

    /// <summary>Whole quarters of an hour, rounded down: “6½”, “¾”, “0”.</summary>
    public static string Hours(int minutes)
    {
        var (hours, part) = (minutes / 60, (minutes % 60 / 15) switch { 1 => "¼", 2 => "½", 3 => "¾", _ => "" });
        return hours == 0 && part.Length > 0 ? part : $"{hours}{part}";
    }

    /// <summary>Pounds and pence: “£34.00”, “−£12.50”.</summary>
    public static string Money(long pence) =>
        (pence < 0 ? "−" : "") + "£" + (Math.Abs(pence) / 100m).ToString("N2", English);
}
