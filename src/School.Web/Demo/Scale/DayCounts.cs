using NodaTime;

namespace School.Web.Demo.Scale;

/// <summary>How often each day of an instructor or a car changed: what diary.entry_changed counts, a row at a time.</summary>
internal sealed class DayCounts
{
    private readonly Dictionary<(LocalDate Day, Guid Subject), int> _counts = [];

    public IEnumerable<(LocalDate Day, Guid Subject, int Changes)> All => _counts.Select(count => (count.Key.Day, count.Key.Subject, count.Value));

    /// <summary>Something came to stand at a time, or left it. Days are those of UTC, as in the table.</summary>
    public void Changed(Interval time, params ReadOnlySpan<Guid> subjects)
    {
        var last = time.End.InUtc().Date;
        foreach (var subject in subjects)
        {
            for (var day = time.Start.InUtc().Date; day <= last; day = day.PlusDays(1))
            {
                _counts[(day, subject)] = _counts.GetValueOrDefault((day, subject)) + 1;
            }
        }
    }
}
