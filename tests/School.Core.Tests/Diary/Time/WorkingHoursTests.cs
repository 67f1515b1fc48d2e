using NodaTime;
using School.Core.Diary.Time;
using Xunit;

namespace School.Core.Tests.Diary.Time;

public sealed class WorkingHoursTests
{
    private static readonly LocalDate January = new(2026, 1, 1);

    [Fact]
    public void Hours_apply_from_the_first_to_the_last_date_inclusive()
    {
        var hours = new WorkingHours(IsoDayOfWeek.Monday, new(9, 0), new(17, 0), new LocalDate(2026, 6, 8), new LocalDate(2026, 6, 15));

        Assert.Equal([false, true, true, false], new[] { 1, 8, 15, 22 }.Select(day => hours.AppliesOn(new LocalDate(2026, 6, day))));
        Assert.False(hours.AppliesOn(new LocalDate(2026, 6, 9)));
    }

    [Fact]
    public void A_split_shift_may_touch_but_not_overlap()
    {
        Assert.Empty(WorkingHours.Problems([Span(9, 12), Span(12, 15), Span(16, 0)]));
        Assert.Equal([new(1, "Start", "These hours overlap others on Monday.")], WorkingHours.Problems([Span(9, 12), Span(11, 15)]));
    }

    [Fact]
    public void Hours_of_other_days_or_dates_do_not_overlap()
    {
        var first = Span(9, 12) with { To = new LocalDate(2026, 3, 31) };

        Assert.Empty(WorkingHours.Problems([first, Span(9, 12) with { From = new LocalDate(2026, 4, 1) }, Span(9, 12) with { Day = IsoDayOfWeek.Friday }]));
        Assert.Single(WorkingHours.Problems([first, Span(9, 12) with { From = new LocalDate(2026, 3, 31) }]));
    }

    [Fact]
    public void Ends_lie_after_starts()
    {
        Assert.Equal([new(0, "End", "The end must be later than the start.")], WorkingHours.Problems([Span(12, 9)]));
        Assert.Equal([new(0, "End", "The end must be later than the start.")], WorkingHours.Problems([Span(9, 9)]));
        Assert.Equal([new(0, "To", "The last date must not be before the first.")], WorkingHours.Problems([Span(9, 12) with { To = January.PlusDays(-1) }]));
        Assert.Empty(WorkingHours.Problems([Span(0, 0)]));
    }

    [Fact]
    public void A_day_of_the_week_is_needed() =>
        Assert.Equal([new(0, "Day", "Choose a day of the week.")], WorkingHours.Problems([Span(9, 12) with { Day = IsoDayOfWeek.None }]));

    private static WorkingHours Span(int from, int to) => new(IsoDayOfWeek.Monday, new(from, 0), new(to, 0), January, null);
}
