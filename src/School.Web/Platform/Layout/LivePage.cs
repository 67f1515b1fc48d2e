using NodaTime;

namespace School.Web.Platform.Layout;

/// <summary>What a page that is open follows of the changes of days. Draw it with <c>_Live</c> in the section Head; the parts that are drawn anew have <c>data-part</c>.</summary>
/// <param name="Words">What changes, in words: “the board”.</param>
/// <param name="From">Up to where the page knows of changes; null where the node does not listen yet.</param>
internal sealed record LivePage(string Words, string? From)
{
    /// <summary>The days that it shows, in UTC; null for all.</summary>
    public (LocalDate First, LocalDate Last)? Days { get; init; }

    /// <summary>2026-03-02, or 2026-03-02/2026-03-08.</summary>
    public string? DaysText => Days is not var (first, last) ? null : first == last ? Text(first) : $"{Text(first)}/{Text(last)}";

    /// <summary>Whose days; null for everybody's.</summary>
    public Guid? Of { get; init; }

    private static string Text(LocalDate date) => date.ToString("uuuu-MM-dd", null);
}
