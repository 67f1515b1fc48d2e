using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Records;

[Needs(Permission.ManageSchool)]
internal sealed class AuditModel(SchoolDb db, IEnumerable<IAuditLabels> labels, SchoolInfo school) : PageModel
{
    private const string Here = "/records/audit";
    private static readonly AuditLabel TheSchool = new("the school", null);

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
        var about = await LabelsAsync(page.Value.Items, cancel);
        Lines = [.. page.Value.Items.Select(entry => Show(entry, facts, about))];
        Pager = new(
            "Pages of the audit",
            Cursor is null ? null : new(Here, "Newest"), null,
            page.Value.Next is { } next ? new($"{Here}?cursor={next}", "Older") : null);
        return Page();
    }

    private async Task<Dictionary<Guid, AuditLabel>> LabelsAsync(IReadOnlyList<AuditEntry> entries, CancellationToken cancel)
    {
        var found = new Dictionary<Guid, AuditLabel>();
        foreach (var things in labels)
        {
            var ids = entries.Where(entry => KindOf(entry) == things.Kind).Select(entry => entry.AboutId).OfType<Guid>().ToHashSet();
            foreach (var (id, label) in ids.Count == 0 ? new Dictionary<Guid, AuditLabel>() : await things.LabelsAsync(ids, cancel))
            {
                found[id] = label;
            }
        }

        return found;
    }

    private Line Show(AuditEntry entry, SchoolFacts school, Dictionary<Guid, AuditLabel> found)
    {
        var at = entry.At.InZone(school.Zone).LocalDateTime;
        var about = entry.AboutId is { } id && found.TryGetValue(id, out var label) ? label
            : labels.FirstOrDefault(things => things.Kind == KindOf(entry))?.Unnamed ?? TheSchool;
        return new(entry, $"{ScreenWords.DayAndYear(at.Date)}, {ScreenWords.Time(at.TimeOfDay, school.TwelveHourClock)}", about.Words, about.Href);
    }

    private static string KindOf(AuditEntry entry) => entry.What.Split('.')[0];

    internal sealed record Line(AuditEntry Entry, string When, string About, string? Href);
}
