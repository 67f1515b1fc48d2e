using School.Web.Platform.Access;

namespace School.Web.Platform.Layout;

/// <summary>The pages of the settings, in the order in which each links to the others.</summary>
internal static class SettingsPages
{
    public static IReadOnlyList<(NavItem Item, Permission Permission)> All { get; } =
    [
        (new("/people/school", "School"), Permission.ManageSchool),
        (new(ComesBack.Page, "First steps"), Permission.ManageSchool),
        (new("/diary/settings", "Booking rules"), Permission.ManageSchool),
        (new("/diary/kinds", "Kinds of lesson"), Permission.ManageSchool),
        (new("/diary/holidays", "Holidays"), Permission.ManageSchool),
        (new("/diary/waiting/settings", "Waiting list"), Permission.ManageSchool),
        (new("/diary/test-days/settings", "Test days"), Permission.ManageSchool),
        (new("/syllabus/settings", "Syllabus"), Permission.ChangeSyllabus),
        (new("/syllabus/lessons/settings", "Evening briefs"), Permission.ManageSchool),
        (new("/places", "Places"), Permission.ManageSchool),
        (new("/places/areas", "Areas"), Permission.ManageSchool),
        (new("/places/postcodes", "Postcodes"), Permission.ManageSchool),
        (new("/travel/settings", "Driving times"), Permission.ManageSchool),
        (new("/people/office", "Office"), Permission.GiveHats),
        (new("/records/audit", "Audit"), Permission.ManageSchool),
        (new("/records/retention", "What is kept"), Permission.ManageSchool),
    ];

    public static IReadOnlyList<NavItem> For(Viewer viewer) => [.. All.Where(page => viewer.May(page.Permission)).Select(page => page.Item)];
}
