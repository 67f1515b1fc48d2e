using System.Diagnostics.CodeAnalysis;
using NodaTime;
using NodaTime.Text;

namespace School.Web.Platform.Api;

/// <summary>A date in a query string or a path, <c>YYYY-MM-DD</c>; an instant with offset is taken too and means the moment.</summary>
internal readonly record struct QueryDate(LocalDate? Date, Instant? Moment) : IParsable<QueryDate>
{
    public static QueryDate Parse(string s, IFormatProvider? provider) =>
        TryParse(s, provider, out var result) ? result : throw new FormatException("Give a date as YYYY-MM-DD.");

    public static bool TryParse([NotNullWhen(true)] string? s, IFormatProvider? provider, out QueryDate result)
    {
        // A plus sign that was not percent-encoded arrives as a space.
        var text = (s ?? "").Trim().Replace(' ', '+');
        if (LocalDatePattern.Iso.Parse(text) is { Success: true } date)
        {
            result = new(date.Value, null);
            return true;
        }

        if (OffsetDateTimePattern.ExtendedIso.Parse(text) is { Success: true, Value.Year: > 0 and < 9999 } moment)
        {
            result = new(null, moment.Value.ToInstant());
            return true;
        }

        result = default;
        return false;
    }

    /// <summary>The date itself, or the date on which the moment falls in the zone.</summary>
    public LocalDate In(DateTimeZone zone) => Date ?? Moment!.Value.InZone(zone).Date;

    /// <summary>Start of the day (the first instant that exists in it), or the moment.</summary>
    public Instant Start(DateTimeZone zone) => Moment ?? zone.AtStartOfDay(Date!.Value).ToInstant();

    /// <summary>End of the day, exclusive, or the moment.</summary>
    public Instant End(DateTimeZone zone) => Moment ?? zone.AtStartOfDay(Date!.Value.PlusDays(1)).ToInstant();
}
