using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Records;

[Needs(Permission.ManageSchool)]
internal sealed class AuditModel(SchoolDb db, SchoolInfo school) : PageModel
{
    private const string Here = "/records/audit";

    [BindProperty(SupportsGet = true)]
    public string? Cursor { get; set; }

    public IReadOnlyList<Line> Lines { get; private set; } = [];

    public Pager Pager { get; private set; } = new("Audit", null, null, null);

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        var page = await AuditPages.ReadAsync(db, aboutId: null, limit: null, string.IsNullOrEmpty(Cursor) ? null : Cursor, cancel);
        if (!page.Ok)
        {
            return LocalRedirect(Here);
        }

        var facts = await school.GetAsync(cancel);
        Lines = [.. page.Value.Items.Select(entry => Show(entry, facts))];
        Pager = new(
            "Pages of the audit",
            Cursor is null ? null : new(Here, "Newest"), null,
            page.Value.Next is { } next ? new($"{Here}?cursor={next}", "Older") : null);
        return Page();
    }

    private static Line Show(AuditEntry entry, SchoolFacts school)
    {
        var at = entry.At.InZone(school.Zone).LocalDateTime;
        var kind = entry.What.Split('.')[0];
        return new(
            entry, $"{ScreenWords.DayAndYear(at.Date)}, {ScreenWords.Time(at.TimeOfDay, school.TwelveHourClock)}",
            entry.AboutId is null ? "" : kind, entry.AboutId is { } id && kind == "pupil" ? $"/pupils/{id}" : null);
    }

    internal sealed record Line(AuditEntry Entry, string When, string About, string? Href);
}
