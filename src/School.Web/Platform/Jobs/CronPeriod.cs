using System.Globalization;
using NodaTime;

namespace School.Web.Platform.Jobs;

/// <summary>How far ahead the next time of a cron expression can lie at most.</summary>
internal static class CronPeriod
{
    // From the coarsest: the first that says more than "each" decides.
    private static readonly (int Field, Duration Whole, Duration One)[] Fields =
    [
        (4, Duration.FromDays(366), Duration.FromDays(31)),
        (3, Duration.FromDays(31), Duration.FromDays(1)),
        (5, Duration.FromDays(7), Duration.FromDays(1)),
        (2, Duration.FromDays(1), Duration.FromHours(1)),
        (1, Duration.FromHours(1), Duration.FromMinutes(1)),
        (0, Duration.FromMinutes(1), Duration.FromSeconds(1)),
    ];

    /// <param name="cron">Five fields, or six that begin with seconds.</param>
    public static Duration Of(string cron)
    {
        var written = cron.Split(' ', StringSplitOptions.RemoveEmptyEntries);
        var fields = written.Length == 5 ? ["0", .. written] : written;
        if (fields.Length != 6)
        {
            throw new ArgumentException($"“{cron}” has {written.Length} fields. Write five, or six that begin with seconds.", nameof(cron));
        }

        foreach (var (field, whole, one) in Fields)
        {
            if (fields[field] is "*" or "?")
            {
                continue;
            }

            return fields[field].StartsWith("*/", StringComparison.Ordinal) ? one * int.Parse(fields[field][2..], CultureInfo.InvariantCulture) : whole;
        }

        return Duration.FromSeconds(1);
    }
}
