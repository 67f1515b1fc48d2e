using NodaTime;
using NodaTime.Text;
using School.Core.Papers;

namespace School.Web.Modules.School.Contracts;

/// <summary>Papers about to run out, as the list of what needs attention tells them.</summary>
internal static class PaperDates
{
    /// <summary>How long before the day it is told.</summary>
    public const int DaysAhead = Paper.SoonDays;

    private static readonly LocalDatePattern Day = LocalDatePattern.CreateWithInvariantCulture("d MMMM uuuu");

    public static string Of(LocalDate date) => Day.Format(date);

    /// <summary>"runs out today. Renew it, then enter the new date."</summary>
    public static string Runs(LocalDate date, LocalDate today) =>
        date < today ? $"ran out on {Of(date)}. No lessons can be booked with it until it is renewed."
        : date == today ? "runs out today. Renew it, then enter the new date."
        : $"runs out on {Of(date)}. Renew it, then enter the new date.";
}
