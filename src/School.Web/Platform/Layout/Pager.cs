namespace School.Web.Platform.Layout;

/// <summary>Links to the neighbours of a list or a day; draw it with <c>&lt;partial name="_Pager" model="…" /&gt;</c>.</summary>
internal sealed record Pager(string Label, NavItem? Back, NavItem? Middle, NavItem? On);
