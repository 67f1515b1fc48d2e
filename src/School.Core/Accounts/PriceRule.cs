using NodaTime;
using School.Core.Cars;
using School.Core.Diary;

namespace School.Core.Accounts;

/// <summary>A price of the list: what it asks of a lesson, and what a lesson then costs.</summary>
/// <param name="Id">Its id.</param>
/// <param name="BookedFrom">It holds for lessons booked from this day on, until another price for the same lessons begins.</param>
/// <param name="Pence">The price with VAT; null ends the price for such lessons, so that a wider one holds again.</param>
/// <param name="Minutes">For how many minutes of teaching it is the price; 15 to 480.</param>
public sealed record PriceRule(Guid Id, LocalDate BookedFrom, long? Pence, int Minutes)
{
    /// <summary>Only for lessons of exactly so many minutes; else other lengths cost in proportion.</summary>
    public bool OnlyThisLength { get; init; }

    /// <summary>Only for this kind of lesson.</summary>
    public LessonKind? Kind { get; init; }

    /// <summary>Only in a car with this gearbox.</summary>
    public Gearbox? Gearbox { get; init; }

    /// <summary>Only with this instructor.</summary>
    public Guid? InstructorId { get; init; }

    /// <summary>Only for lessons that begin on these days and within these hours.</summary>
    public PriceHours? Hours { get; init; }

    /// <summary>
    /// How much it asks: of two prices that fit, that of the instructor goes before that of a length, then kind, then hours, then gearbox. An order of our own.
    /// </summary>
    internal int Weight =>
        (InstructorId is null ? 0 : 16) + (OnlyThisLength ? 8 : 0) + (Kind is null ? 0 : 4) + (Hours is null ? 0 : 2) + (Gearbox is null ? 0 : 1);

    /// <summary>Whether it is a price for the same lessons as another, and takes its place from its own day on.</summary>
    /// <param name="other">The other.</param>
    public bool IsForTheSameAs(PriceRule other) =>
        (OnlyThisLength, Kind, Gearbox, InstructorId, Hours) == (other.OnlyThisLength, other.Kind, other.Gearbox, other.InstructorId, other.Hours)
        && (!OnlyThisLength || Minutes == other.Minutes);

    /// <summary>Whether neither of two prices goes before the other though both fit some lesson: their hours overlap and all else is the same.</summary>
    /// <param name="other">The other.</param>
    public bool Overlaps(PriceRule other) =>
        Hours is { } mine && other.Hours is { } theirs && mine != theirs && mine.Overlaps(theirs)
        && (this with { Hours = null }).IsForTheSameAs(other with { Hours = null });

    internal bool Fits(LessonToPrice lesson) =>
        (Kind is null || Kind == lesson.Kind) && (Gearbox is null || Gearbox == lesson.Gearbox) && (InstructorId is null || InstructorId == lesson.InstructorId)
        && (!OnlyThisLength || Minutes == lesson.Minutes) && Hours?.Holds(lesson.Start) != false;
}

/// <summary>Days of the week, and hours of the day, in which a lesson begins.</summary>
/// <param name="Days">One bit for each day, Monday first (1) to Sunday (64); 1 to 127.</param>
/// <param name="From">The first start.</param>
/// <param name="Until">The start after the last; midnight means the end of the day.</param>
public sealed record PriceHours(int Days, LocalTime From, LocalTime Until)
{
    /// <summary>All days of a week.</summary>
    public const int AllDays = 127;

    /// <summary>Whether a lesson that begins then is within.</summary>
    /// <param name="start">The start, in the zone of the school.</param>
    public bool Holds(LocalDateTime start) => IsOn(start.DayOfWeek) && start.TimeOfDay >= From && (Until == LocalTime.Midnight || start.TimeOfDay < Until);

    /// <summary>Whether it is for a day of the week.</summary>
    /// <param name="day">The day.</param>
    public bool IsOn(IsoDayOfWeek day) => (Days & (1 << ((int)day - 1))) != 0;

    internal bool Overlaps(PriceHours other) =>
        (Days & other.Days) != 0 && (other.Until == LocalTime.Midnight || From < other.Until) && (Until == LocalTime.Midnight || other.From < Until);
}

/// <summary>What of a lesson a price looks at.</summary>
/// <param name="BookedOn">The day on which it was booked, in the zone of the school: later rises do not touch it.</param>
/// <param name="Start">When it begins, in the zone of the school.</param>
/// <param name="Minutes">Minutes of teaching.</param>
/// <param name="Kind">Its kind.</param>
/// <param name="Gearbox">That of its car.</param>
/// <param name="InstructorId">Who gives it.</param>
public sealed record LessonToPrice(LocalDate BookedOn, LocalDateTime Start, int Minutes, LessonKind Kind, Gearbox Gearbox, Guid InstructorId);

/// <summary>A price and the rule that it comes from.</summary>
/// <param name="Pence">With VAT.</param>
/// <param name="RuleId">Which rule of the list.</param>
public sealed record LessonPrice(long Pence, Guid RuleId);

/// <summary>The prices of a seller, present and past.</summary>
public static class PriceList
{
    /// <summary>The price of a lesson: of the rules that fit it, as they stood when it was booked, the one that asks most.</summary>
    /// <param name="rules">All rules, in any order.</param>
    /// <param name="lesson">The lesson.</param>
    /// <returns>Null where the list has no price for it.</returns>
    public static LessonPrice? Of(IEnumerable<PriceRule> rules, LessonToPrice lesson)
    {
        var standing = new List<PriceRule>();
        foreach (var rule in rules.Where(rule => rule.BookedFrom <= lesson.BookedOn).OrderByDescending(rule => rule.BookedFrom).ThenByDescending(rule => rule.Id))
        {
            if (!standing.Any(later => later.IsForTheSameAs(rule)))
            {
                standing.Add(rule);
            }
        }

        return standing.Where(rule => rule.Pence is not null && rule.Fits(lesson)).MaxBy(rule => rule.Weight) is { } best
            ? new(Pence.Share(best.Pence!.Value, lesson.Minutes, best.Minutes), best.Id)
            : null;
    }
}
