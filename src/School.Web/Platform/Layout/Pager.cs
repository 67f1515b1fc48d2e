namespace School.Web.Platform.Layout;

/// <summary>Links to the neighbours of a list or a day; draw it with <c>&lt;partial name="_Pager" model="…" /&gt;</c>.</summary>
internal sealed record Pager(string Label, NavItem? Back, NavItem? Middle, NavItem? On)
{
    /// <summary>The parts of a long list, from 1: what came before and what comes after.</summary>
    public static Pager OfParts(string label, int part, bool more, Func<int, string> address) =>
        new(label, part > 1 ? new(address(part - 1), "Before") : null, null, more ? new(address(part + 1), "More") : null);
}
