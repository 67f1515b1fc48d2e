using NodaTime;

namespace School.Web.Platform.Layout.Time;

/// <summary>The date of a page with a field for any other, and links to its neighbours. Draw it with <c>_DatePager</c>.</summary>
/// <param name="Action">Where the field leads, as <c>date</c>.</param>
/// <param name="Label">What is turned: a day, a week.</param>
/// <param name="Today">Where the page shows another: today.</param>
/// <param name="To">The link to a date.</param>
/// <param name="Days">From one page to the next.</param>
/// <param name="Kept">What the address says beside the date.</param>
internal sealed record DatePager(string Action, LocalDate Date, string Label, LocalDate? Today, Func<LocalDate, NavItem> To, int Days, IReadOnlyList<(string Name, string Value)> Kept)
{
    public NavItem Back => To(Date.PlusDays(-Days));

    public NavItem On => To(Date.PlusDays(Days));

    public string TodayWords => Days switch { 1 => "Today", 7 => "This week", _ => "This fortnight" };
}
