using NodaTime;
using School.Core.Cars;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Cars;

/// <summary>One paper of a car on a day, in words; a shape says the same at a glance.</summary>
/// <param name="Name">Such as MOT.</param>
/// <param name="Words">How long it is still good.</param>
/// <param name="Shape">A dot when all is well, a triangle when it soon ends, a square when it is over.</param>
/// <param name="Heed">Whether somebody should do something.</param>
internal sealed record PaperLine(string Name, string Words, string Shape, bool Heed)
{
    private const int SoonDays = Core.Papers.Paper.SoonDays;

    public static IReadOnlyList<PaperLine> Of(Car car, LocalDate today, int firstMotYears) =>
    [
        Mot(car, today, firstMotYears),
        Until("Tax", car.TaxExpires, today),
        Until("Insurance", car.InsuranceExpires, today),
        Until("Service", car.ServiceDue, today),
    ];

    private static PaperLine Mot(Car car, LocalDate today, int firstMotYears)
    {
        var facts = car.Facts([], firstMotYears);
        var (neededFrom, last) = (facts.MotNeededFrom, facts.MotGoodUntil);
        return last >= neededFrom ? Keeping(Until("MOT", last, today), last, today)
            : today < neededFrom ? Keeping(Until("MOT", last, today) with { Words = $"needed from {ScreenWords.DayAndYear(neededFrom)}" }, last, today)
            : car.MotExpires is { } over ? Until("MOT", over, today)
            : new("MOT", "needed, and none is entered", "■", true);
    }

    /// <summary>From when on a test keeps the day of the year.</summary>
    private static PaperLine Keeping(PaperLine line, LocalDate last, LocalDate today) =>
        last < today ? line : line with { Words = $"{line.Words}; a test from {ScreenWords.DayAndYear(MotDates.KeepsDateFrom(last))} keeps the date" };

    private static PaperLine Until(string name, LocalDate? last, LocalDate today)
    {
        if (last is not { } date)
        {
            return new(name, "no date entered", "○", false);
        }

        var days = Period.DaysBetween(today, date);
        var left = days switch
        {
            < -1 => $"ran out {-days} days ago",
            -1 => "ran out yesterday",
            0 => "today is the last day",
            1 => "1 day left",
            _ => $"{days} days left",
        };
        return new(name, $"{left}, {ScreenWords.DayAndYear(date)}", days < 0 ? "■" : days <= SoonDays ? "▲" : "●", days <= SoonDays);
    }
}
