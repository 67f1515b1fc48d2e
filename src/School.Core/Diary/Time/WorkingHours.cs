using NodaTime;

namespace School.Core.Diary.Time;

/// <summary>A span of working hours that recurs every week in local time; several on one day make a split shift.</summary>
/// <remarks>
/// On a day when the clock changes: a start or end that the clock skips moves to the moment it skips to; of a repeated
/// time the start takes the first, the end the second.
/// </remarks>
/// <param name="Day">Day of the week.</param>
/// <param name="Start">Local time at which work may begin.</param>
/// <param name="End">Local time by which it must be over; midnight means the end of the day.</param>
/// <param name="From">First date on which the span applies.</param>
/// <param name="To">Last date on which it applies, that day included; null for until further notice.</param>
public sealed record WorkingHours(IsoDayOfWeek Day, LocalTime Start, LocalTime End, LocalDate From, LocalDate? To)
{
    /// <summary>Whether the span applies on a date.</summary>
    public bool AppliesOn(LocalDate date) => date.DayOfWeek == Day && date >= From && !(date > To);

    /// <summary>The span as moments of one date, whether or not it applies then.</summary>
    public Interval During(LocalDate date, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(zone);
        return LocalSpan.During(date, Start, End, zone);
    }

    /// <summary>What is wrong with a set of spans; empty when all is well. Spans that only touch are fine.</summary>
    public static IReadOnlyList<WorkingHoursProblem> Problems(IReadOnlyList<WorkingHours> hours)
    {
        var problems = new List<WorkingHoursProblem>();
        for (var i = 0; i < hours.Count; i++)
        {
            var span = hours[i];
            if (span.Day == IsoDayOfWeek.None)
            {
                problems.Add(new(i, nameof(Day), "Choose a day of the week."));
            }

            if (span.EndNanosecond <= span.Start.NanosecondOfDay)
            {
                problems.Add(new(i, nameof(End), "The end must be later than the start."));
            }

            if (span.To < span.From)
            {
                problems.Add(new(i, nameof(To), "The last date must not be before the first."));
            }

            if (hours.Take(i).Any(span.Overlaps))
            {
                problems.Add(new(i, nameof(Start), $"These hours overlap others on {span.Day}."));
            }
        }
        return problems;
    }

    internal long EndNanosecond => End == LocalTime.Midnight ? NodaConstants.NanosecondsPerDay : End.NanosecondOfDay;

    private bool Overlaps(WorkingHours other) =>
        Day == other.Day
        && !(other.From > To) && !(From > other.To)
        && Start.NanosecondOfDay < other.EndNanosecond && other.Start.NanosecondOfDay < EndNanosecond;
}

/// <summary>Something wrong with one span of working hours.</summary>
/// <param name="Index">Its place in the list that was checked, from 0.</param>
/// <param name="Field">The name of the property at fault.</param>
/// <param name="Sentence">What to do about it.</param>
public sealed record WorkingHoursProblem(int Index, string Field, string Sentence);
