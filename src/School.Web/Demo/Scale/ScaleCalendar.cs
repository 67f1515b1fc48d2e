using NodaTime;
using School.Core.Diary.Time;

namespace School.Web.Demo.Scale;

/// <summary>The days of the made-up school: when it begins, what it calls now, who is away.</summary>
internal sealed class ScaleCalendar
{
    private const int WeeksOfPresent = 12;
    private const int WeeksAhead = 26;
    private static readonly LocalTime NowOfDay = new(6, 0);
    private readonly HashSet<LocalDate> _holidays = [];
    private readonly Dictionary<int, List<(LocalDate From, LocalDate To)>> _away = [];

    public ScaleCalendar(LocalDate today, DateTimeZone zone)
    {
        (Today, Zone) = (today, zone);
        Start = today.PlusYears(-ScaleSize.YearsBack);
        Present = today.With(DateAdjusters.PreviousOrSame(IsoDayOfWeek.Monday)).PlusWeeks(-WeeksOfPresent);
        for (var year = Start.Year; year <= today.Year + 1; year++)
        {
            // Of the years before, only the days that are the same in each.
            _holidays.UnionWith(year >= BankHolidays.FirstYear
                ? BankHolidays.Of(Nation.EnglandAndWales, year).Select(day => day.Date)
                : [new(year, 1, 1), new(year, 12, 25), new(year, 12, 26)]);
        }
    }

    public DateTimeZone Zone { get; }

    public LocalDate Today { get; }

    /// <summary>The first day of the school.</summary>
    public LocalDate Start { get; }

    /// <summary>The Monday on which the courses of the present pupils can begin; all others are over by then.</summary>
    public LocalDate Present { get; }

    /// <summary>What lies before is told as it happened. Early in the day, so that the same day gives the same rows.</summary>
    public Instant Now => At(Today + NowOfDay);

    public LocalDate LastDay => Today.PlusWeeks(WeeksAhead);

    public IReadOnlySet<LocalDate> Holidays => _holidays;

    public Instant At(LocalDateTime local) => local.InZoneLeniently(Zone).ToInstant();

    public Instant At(LocalDate date, int hour) => At(date + new LocalTime(hour, 0));

    public bool IsOpen(int instructor, LocalDate date) =>
        date.DayOfWeek != IsoDayOfWeek.Sunday && !_holidays.Contains(date) && !Away(instructor).Exists(away => away.From <= date && date <= away.To);

    /// <summary>An instructor's holidays: a fortnight in summer, a week in spring, the days after Christmas; whole days, both ends included.</summary>
    public List<(LocalDate From, LocalDate To)> Away(int instructor)
    {
        if (!_away.TryGetValue(instructor, out var all))
        {
            _away[instructor] = all = [];
            for (var year = Start.Year; year <= LastDay.Year; year++)
            {
                var spring = MondayOf(new LocalDate(year, 2, 8)).PlusWeeks(instructor % 9);
                var summer = MondayOf(new LocalDate(year, 6, 28)).PlusWeeks(instructor % 8);
                all.AddRange([(spring, spring.PlusDays(6)), (summer, summer.PlusDays(13)), (new(year, 12, 27), new(year, 12, 31))]);
            }
        }

        return all;
    }

    private static LocalDate MondayOf(LocalDate date) => date.With(DateAdjusters.PreviousOrSame(IsoDayOfWeek.Monday));
}
