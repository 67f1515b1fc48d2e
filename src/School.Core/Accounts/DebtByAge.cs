using NodaTime;

namespace School.Core.Accounts;

/// <summary>What somebody owes, by how long they have: what they paid goes to the oldest debt first.</summary>
/// <remarks>The steps of thirty days: common practice, no source.</remarks>
/// <param name="Total">All of it, in pence; negative where they have paid ahead.</param>
/// <param name="Recent">Up to 30 days old.</param>
/// <param name="Over30">31 to 60 days.</param>
/// <param name="Over60">61 to 90 days.</param>
/// <param name="Over90">Older.</param>
public sealed record DebtByAge(long Total, long Recent, long Over30, long Over60, long Over90)
{
    /// <summary>Ages what lines come to.</summary>
    /// <param name="lines">Debits positive, credits negative, each with its day; in any order.</param>
    /// <param name="today">The day on which the ages are counted.</param>
    public static DebtByAge Of(IEnumerable<(LocalDate On, long Pence)> lines, LocalDate today)
    {
        var all = lines.ToList();
        var paid = -all.Where(line => line.Pence < 0).Sum(line => line.Pence);
        var steps = new long[4];
        foreach (var (on, pence) in all.Where(line => line.Pence > 0).OrderBy(line => line.On))
        {
            var part = Math.Min(paid, pence);
            paid -= part;
            steps[Math.Clamp((Period.DaysBetween(on, today) - 1) / 30, 0, 3)] += pence - part;
        }

        return new(all.Sum(line => line.Pence), steps[0], steps[1], steps[2], steps[3]);
    }
}
