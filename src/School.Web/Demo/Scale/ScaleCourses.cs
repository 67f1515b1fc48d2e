using NodaTime;

namespace School.Web.Demo.Scale;

/// <summary>A pupil's lessons from the first to the last: with whom, and when each begins.</summary>
/// <param name="Number">Rises with the order in which courses began, the present ones first from 0.</param>
/// <param name="Instructor">Place in the list of instructors.</param>
/// <param name="Starts">In order.</param>
/// <param name="Test">When an official test with the instructor is ahead.</param>
internal sealed record Course(int Number, int Instructor, IReadOnlyList<LocalDateTime> Starts, int Minutes, LocalDateTime? Test = null)
{
    /// <summary>Whether it goes on.</summary>
    public required bool Present { get; init; }
}

/// <summary>Works out all courses of a school, so that nobody is in two lessons at once.</summary>
internal sealed class ScaleCourses(ScaleSize size, ScaleCalendar calendar)
{
    // A week of the past has ten starts on each day from Monday to Saturday; two of them, three days apart, are one row of places.
    private const int StartsOfDay = 10;
    private const int MinutesApart = 75;
    private const int RowsOfWeek = 3 * StartsOfDay;
    private const int PastMinutes = 60;

    // A present week has four starts on each day from Monday to Friday.
    private static readonly LocalTime FirstPast = new(7, 30);
    private static readonly LocalTime[] PresentStarts = [new(9, 0), BeforeNoonBreak, new(14, 0), new(16, 15)];
    private static readonly LocalTime TestTime = new(12, 15);

    /// <summary>The start of a present day with most time after it.</summary>
    public static LocalTime BeforeNoonBreak => new(11, 15);

    /// <summary>The last start of a day of the past.</summary>
    public static LocalTime LastPast => FirstPast.PlusMinutes((StartsOfDay - 1) * MinutesApart);

    /// <summary>A start of the days of the present, or of the past, that each instructor has once.</summary>
    public static LocalTime SupervisedStart(bool present) => present ? PresentStarts[0] : FirstPast.PlusMinutes(2 * MinutesApart);

    public int InstructorsEver => size.Instructors + size.FormerInstructors;

    /// <summary>Until when an instructor teaches; null for those of the present. Those who left went one after the other over the years.</summary>
    public LocalDate? LastDayOf(int instructor)
    {
        if (instructor < size.Instructors)
        {
            return null;
        }

        var days = Period.Between(calendar.Start, calendar.Present.PlusDays(-1), PeriodUnits.Days).Days;
        return calendar.Start.PlusDays((int)((long)days * (instructor - size.Instructors + 1) / size.FormerInstructors));
    }

    /// <summary>The courses of the present pupils.</summary>
    public IEnumerable<Course> OfPresent() => size.Behind().Select((behind, n) => PresentCourse(n, behind));

    /// <summary>The finished courses by when they began.</summary>
    /// <exception cref="InvalidOperationException">There is no room for them.</exception>
    public IReadOnlyList<Course> OfPast()
    {
        var lengths = size.Courses();
        var rows = Enumerable.Range(0, InstructorsEver).SelectMany(instructor => Enumerable.Range(0, RowsOfWeek).Select(row => PlacesOf(instructor, row))).ToList();
        var room = rows.Sum(row => (long)row.Starts.Count);
        var (all, placed, wanted, next) = ((double)lengths.Sum(), 0L, 0.0, 0);
        foreach (var row in rows)
        {
            wanted += all * row.Starts.Count / room;
            while (next < lengths.Length && placed + (lengths[next] / 2) <= wanted && row.Take(lengths[next]))
            {
                placed += lengths[next++];
            }
        }

        // What rounding left over goes wherever there is room.
        for (; next < lengths.Length; next++)
        {
            _ = rows.Find(row => row.Take(lengths[next])) ?? throw new InvalidOperationException($"There is no room for course {next} of {lengths.Length}.");
        }

        return [.. rows.SelectMany(row => row.Courses()).OrderBy(course => course.Starts[0]).ThenBy(course => course.Instructor)
            .Select((course, n) => course with { Number = size.PresentPupils + n })];
    }

    private Row PlacesOf(int instructor, int row)
    {
        var (first, time) = (row / StartsOfDay, FirstPast.PlusMinutes(row % StartsOfDay * MinutesApart));
        var end = LastDayOf(instructor) ?? calendar.Present.PlusDays(-1);
        var starts = new List<LocalDateTime>();
        for (var date = calendar.Start.With(DateAdjusters.NextOrSame(IsoDayOfWeek.Monday)); date <= end; date = date.PlusWeeks(1))
        {
            foreach (var day in (ReadOnlySpan<LocalDate>)[date.PlusDays(first), date.PlusDays(first + 3)])
            {
                if (day <= end && calendar.IsOpen(instructor, day))
                {
                    starts.Add(day + time);
                }
            }
        }

        return new(instructor, row, starts);
    }

    /// <summary>Two lessons a week on days of its own; some have the second lesson of a week's place taken by their test.</summary>
    private Course PresentCourse(int number, int behind)
    {
        var (instructor, place) = (number / ScaleSize.PresentEach, number % ScaleSize.PresentEach);
        var (day, late) = (place % 5, place / 5 * 2);
        (int Day, LocalTime Time)[] week = [(day, PresentStarts[late]), ((day + 2) % 5, PresentStarts[late + 1])];
        var open = Enumerable.Range(0, int.MaxValue).Select(calendar.Present.PlusWeeks).TakeWhile(monday => monday < calendar.LastDay)
            .SelectMany(monday => week.OrderBy(lesson => lesson.Day).Select(lesson => monday.PlusDays(lesson.Day) + lesson.Time))
            .Where(start => calendar.IsOpen(instructor, start.Date)).ToList();
        var ahead = open.Where(start => start.Date >= calendar.Today).ToList();
        LocalDateTime? test = null;
        if (number % 7 == 3 && late == 0 && ahead.Find(start => start.TimeOfDay == PresentStarts[1] && start.Date > calendar.Today.PlusDays(5 + (number % 30))) is { } taken && taken != default)
        {
            ahead.Remove(taken);
            test = taken.Date + TestTime;
        }

        var before = open.Where(start => start.Date < calendar.Today).ToList();
        return new(number, instructor, [.. before.TakeLast(behind), .. ahead.Take(ScaleSize.AheadEach)], number % 3 == 0 ? 90 : 60, test) { Present = true };
    }

    /// <summary>Places, two a week, that are filled with one course after the other.</summary>
    private sealed class Row(int instructor, int number, List<LocalDateTime> starts)
    {
        private readonly List<int> _lengths = [];
        private int _taken;

        public List<LocalDateTime> Starts => starts;

        public bool Take(int length)
        {
            if (_taken + length > starts.Count)
            {
                return false;
            }

            _taken += length;
            _lengths.Add(length);
            return true;
        }

        /// <summary>Spread over the row by chance.</summary>
        public IEnumerable<Course> Courses()
        {
            var dice = new Dice(instructor, number);
            var gaps = Enumerable.Range(0, _lengths.Count).Select(_ => dice.Next(starts.Count - _taken + 1)).Order().ToList();
            var used = 0;
            foreach (var (gap, length) in gaps.Zip(_lengths))
            {
                yield return new(0, instructor, starts.GetRange(gap + used, length), PastMinutes) { Present = false };
                used += length;
            }
        }
    }
}
