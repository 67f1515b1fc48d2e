using NodaTime;

namespace School.Core.Cars;

/// <summary>When a car's next MOT is due over the years.</summary>
/// <remarks>
/// https://www.gov.uk/getting-an-mot, read 25 November 2026: the first by the third anniversary of registration, then every year; it may be had "up to a month (minus a day)"
/// before it runs out, and the renewal date stays. In Northern Ireland the first is due after four years (nidirect.gov.uk).
/// </remarks>
public static class MotDates
{
    /// <summary>The first day on which a test keeps the date: a month, minus a day, before the last day.</summary>
    /// <param name="lastDay">Last day of the certificate, or of the time before the first.</param>
    public static LocalDate KeepsDateFrom(LocalDate lastDay) => lastDay.PlusMonths(-1).PlusDays(1);

    /// <summary>The last day of the certificate that a test on a day gives.</summary>
    /// <param name="tested">Day of the test.</param>
    /// <param name="lastDay">Last day of the certificate before it, or of the time before the first.</param>
    /// <returns>A year after the last day where the test keeps the date, else a year after the test, minus a day.</returns>
    public static LocalDate LastDayAfter(LocalDate tested, LocalDate lastDay) =>
        tested >= KeepsDateFrom(lastDay) && tested <= lastDay ? lastDay.PlusYears(1) : tested.PlusYears(1).PlusDays(-1);

    /// <summary>The furthest last day that a certificate can have which exists on a day: of a test today that keeps the date longest.</summary>
    /// <param name="today">The day.</param>
    public static LocalDate Furthest(LocalDate today) => (KeepsDateFrom(today.PlusMonths(1)) <= today ? today.PlusMonths(1) : today.PlusMonths(1).PlusDays(-1)).PlusYears(1);
}
