using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Records.Retention;

/// <summary>A rule with the days that hold.</summary>
internal sealed record RulePeriod(RetentionRule Rule, int Days);

/// <summary>The rules of all modules with the school's own periods, in one order everywhere.</summary>
internal sealed class RetentionPeriods(SchoolDb db, IEnumerable<RetentionRule> rules)
{
    public IReadOnlyList<RetentionRule> Rules { get; } = [.. rules.OrderByDescending(rule => rule.SchoolDecides).ThenByDescending(rule => rule.Days).ThenBy(rule => rule.Code, StringComparer.Ordinal)];

    public async Task<(IReadOnlyList<RulePeriod> Periods, int Version)> ReadAsync(CancellationToken cancel)
    {
        var row = await db.Set<RetentionSettings>().AsNoTracking().SingleAsync(cancel);
        return (Of(row), row.Version);
    }

    public IReadOnlyList<RulePeriod> Of(RetentionSettings row)
    {
        var own = row.ByCode();
        // A bound that a later release moved holds for what was chosen before it, too.
        return [.. Rules.Select(rule => new RulePeriod(rule, own.TryGetValue(rule.Code, out var days) ? Math.Clamp(days, rule.Least, rule.Most) : rule.Days))];
    }
}
