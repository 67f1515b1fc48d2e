using System.Security.Claims;

namespace School.Web.Platform.Layout;

internal sealed record NavItem(string Href, string Words);

/// <summary>The places each role goes to most, most used first: a phone shows the first four, the rest stand under More.</summary>
internal sealed class Navigation
{
    public const string SignIn = "/people/sign-in";
    public const string SignOut = "/people/sign-out";

    private readonly Dictionary<string, NavItem[]> byRole = new()
    {
        ["pupil"] =
        [
            new("/diary/home", "Home"),
            new("/diary/book", "Book"),
            new("/diary/lessons", "Lessons"),
            new("/syllabus/progress", "Progress"),
            new("/diary/waiting", "Waiting list"),
            new("/calendars", "Calendar"),
            new("/diary/test-days", "Test"),
            new("/pupils/me", "My details"),
            new("/people/account", "Account"),
        ],
        ["instructor"] =
        [
            new("/diary/day", "Day"),
            new("/diary/week", "Week"),
            new("/pupils", "Pupils"),
            new("/syllabus/overview", "Learning"),
            new("/diary/hours", "Hours"),
            new("/diary/waiting", "Waiting list"),
            new("/diary/test-days", "Test days"),
            new("/cars", "Cars"),
            new("/calendars", "Calendar"),
            new("/people/account", "Account"),
        ],
        ["office"] =
        [
            new("/diary/board", "Board"),
            new("/pupils", "Pupils"),
            new("/people/instructors", "Instructors"),
            new("/diary/attention", "Attention"),
            new("/cars", "Cars"),
            new("/papers", "Papers"),
            new("/messages", "Messages"),
            new("/calendars", "Calendars"),
            new("/people/school", "Settings"),
            new("/people/account", "Account"),
        ],
    };

    public IReadOnlyList<NavItem> For(ClaimsPrincipal person) =>
        byRole.Where(role => person.IsInRole(role.Key)).SelectMany(role => role.Value).DistinctBy(item => item.Href).ToList();

    /// <summary>The item a path belongs to: the longest address that the path begins with, whole segments only.</summary>
    public static NavItem? Current(IEnumerable<NavItem> items, PathString path) =>
        items.Where(item => item.Href == "/" ? path == "/" : path.StartsWithSegments(item.Href, StringComparison.OrdinalIgnoreCase))
            .MaxBy(item => item.Href.Length);
}
