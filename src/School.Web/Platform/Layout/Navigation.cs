using School.Web.Platform.Access;

namespace School.Web.Platform.Layout;

internal sealed record NavItem(string Href, string Words);

/// <summary>The places somebody goes to most, most used first: a phone shows the first four, the rest stand under More.</summary>
internal sealed class Navigation
{
    public const string SignIn = "/people/sign-in";
    public const string SignOut = "/people/sign-out";

    private const string BoardHref = "/diary/board";

    // The board of two weeks.
    private const string FortnightHref = "/diary/fortnight";

    private static readonly Place Calendar = new("/calendars", "Calendar", Permission.OwnFeeds);
    private static readonly Place Account = new("/people/account", "Account", Permission.OwnSignIn);

    private readonly Dictionary<Hat, Place[]> byHat = new()
    {
        [Hat.Pupil] =
        [
            new("/diary/home", "Home", Permission.SeeLessons),
            new("/diary/book", "Book", Permission.BookLessons),
            new("/diary/lessons", "Lessons", Permission.SeeLessons),
            new("/syllabus/progress", "Progress", Permission.SeeLearning),
            new("/diary/waiting", "Waiting list", Permission.BookLessons),
            Calendar,
            new("/diary/test-days", "Test", Permission.SeeLessons),
            new("/accounts/mine", "Money", Permission.ReadAccount),
            new("/pupils/me", "My details", Permission.OwnDetails),
            Account,
        ],
        [Hat.BesidePupil] =
        [
            new("/diary/beside", "Your pupils", Permission.SeeBeside),
            Account,
        ],
        [Hat.Instructor] =
        [
            new("/diary/day", "Day", Permission.DriveTheDay),
            new("/diary/week", "Week", Permission.DriveTheDay),
            new("/pupils", "Pupils", Permission.SeePupils),
            new("/syllabus/overview", "Learning", Permission.TeachPupils),
            new("/diary/hours", "Hours", Permission.ChangeHours),
            new("/diary/waiting", "Waiting list", Permission.BookLessons),
            new("/diary/test-days", "Test days", Permission.SeeLessons),
            new("/cars", "Cars", Permission.SeeCars),
            Calendar,
            Account,
        ],
        [Hat.Office] =
        [
            new(BoardHref, "Board", Permission.SeeWholeDiary),
            new("/pupils", "Pupils", Permission.SeePupils),
            new("/people/instructors", "Instructors", Permission.ManageInstructors),
            new("/diary/attention", "Attention", Permission.SeeWholeDiary),
            new("/cars", "Cars", Permission.SeeCars),
            new("/papers", "Papers", Permission.SeeWholeDiary),
            new("/accounts", "Money", Permission.KeepBooks),
            new("/messages", "Messages", Permission.SeeMessages),
            new("/calendars", "Calendars", Permission.OwnFeeds),
            new("/people/school", "Settings", Permission.ManageSchool),
            Account,
        ],
    };

    /// <summary>
    /// One list for all hats together: of each in turn the place that is used most, once, and only what they may open; the account, which everybody
    /// has, comes last.
    /// </summary>
    public IReadOnlyList<NavItem> For(Viewer? viewer)
    {
        if (viewer is null)
        {
            return [];
        }

        var lists = viewer.Hats.Select(hat => byHat[hat].Where(place => place != Account && viewer.May(place.Permission)).ToList()).ToList();
        return
        [
            .. from rank in Enumerable.Range(0, lists.Select(list => list.Count).DefaultIfEmpty().Max())
               from list in lists
               where rank < list.Count
               group list[rank] by list[rank].Href into same
               select new NavItem(same.Key, same.First().Words),
            new(Account.Href, Account.Words),
        ];
    }

    /// <summary>Where somebody begins: the place that they use most.</summary>
    public string StartOf(Viewer viewer) => For(viewer)[0].Href;

    /// <summary>The item a path belongs to: the longest address that the path begins with, whole segments only.</summary>
    public static NavItem? Current(IEnumerable<NavItem> items, PathString path) =>
        items.Where(item => item.Href == BoardHref && path.StartsWithSegments(FortnightHref, StringComparison.OrdinalIgnoreCase)).FirstOrDefault() ?? Longest(items, path);

    private static NavItem? Longest(IEnumerable<NavItem> items, PathString path) =>
        items.Where(item => item.Href == "/" ? path == "/" : path.StartsWithSegments(item.Href, StringComparison.OrdinalIgnoreCase))
            .MaxBy(item => item.Href.Length);

    private sealed record Place(string Href, string Words, Permission Permission);
}
