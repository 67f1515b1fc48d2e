using NodaTime;

namespace School.Core.Pupils;

/// <summary>A time of the week at which a pupil can have lessons, in the school's local time.</summary>
/// <remarks>
/// On a day when the clock changes: a beginning or end that the clock skips moves to the moment it skips to; of a repeated
/// time the beginning takes the first, the end the second.
/// </remarks>
/// <param name="Day">Day of the week.</param>
/// <param name="From">A lesson may begin at this time.</param>
/// <param name="To">A lesson must be over by this time of the same day; midnight means the end of the day.</param>
public sealed record AvailableTime(IsoDayOfWeek Day, LocalTime From, LocalTime To)
{
    /// <summary>The time as moments of one date; null when that date is another day of the week.</summary>
    public Interval? During(LocalDate date, DateTimeZone zone) =>
        date.DayOfWeek == Day ? LocalSpan.During(date, From, To, zone) : null;

    /// <summary>Whether a lesson lies in these times, adjacent ones taken together.</summary>
    /// <param name="times">A pupil's times, in any order.</param>
    /// <param name="lesson">The lesson; with both ends.</param>
    /// <param name="zone">The school's zone.</param>
    public static bool Holds(IReadOnlyList<AvailableTime> times, Interval lesson, DateTimeZone zone) =>
        On(times, lesson.Start.InZone(zone).Date, zone).Any(time => time.Start <= lesson.Start && lesson.End <= time.End);

    /// <summary>The times of one date as moments, in order; adjacent ones are one.</summary>
    public static IReadOnlyList<Interval> On(IReadOnlyList<AvailableTime> times, LocalDate date, DateTimeZone zone) =>
    [
        .. Stretch.Merge(times.Select(time => time.During(date, zone)).OfType<Interval>().Select(Stretch.Of))
            .Select(stretch => new Interval(stretch.Start, stretch.End)),
    ];

    /// <summary>What is wrong with a pupil's times; empty when all is well. Times that only touch are fine.</summary>
    public static IReadOnlyList<AvailableTimeProblem> Problems(IReadOnlyList<AvailableTime> times)
    {
        var problems = new List<AvailableTimeProblem>();
        for (var i = 0; i < times.Count; i++)
        {
            var time = times[i];
            if (time.Day == IsoDayOfWeek.None)
            {
                problems.Add(new(i, nameof(Day), "Choose a day of the week."));
            }

            if (time.EndNanosecond <= time.From.NanosecondOfDay)
            {
                problems.Add(new(i, nameof(To), "The time must end later than it begins."));
            }
            else if (times.Take(i).FirstOrDefault(time.Overlaps) is { } other)
            {
                problems.Add(new(i, nameof(From), $"This overlaps {Text(other.From)} to {Text(other.To)} on {time.Day}. Give one time for both, or change one."));
            }
        }
        return problems;
    }

    private static string Text(LocalTime time) => time.ToString("HH:mm", System.Globalization.CultureInfo.InvariantCulture);

    private long EndNanosecond => To == LocalTime.Midnight ? NodaConstants.NanosecondsPerDay : To.NanosecondOfDay;

    private bool Overlaps(AvailableTime other) =>
        Day == other.Day && From.NanosecondOfDay < other.EndNanosecond && other.From.NanosecondOfDay < EndNanosecond;
}

/// <summary>Something wrong with one of a pupil's times.</summary>
/// <param name="Index">Its place in the list that was checked, from 0.</param>
/// <param name="Field">The name of the property at fault.</param>
/// <param name="Sentence">What to do about it.</param>
public sealed record AvailableTimeProblem(int Index, string Field, string Sentence);
