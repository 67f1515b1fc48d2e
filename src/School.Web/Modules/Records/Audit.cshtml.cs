using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Records;

[Needs(Permission.ManageSchool)]
internal sealed class AuditModel(SchoolDb db, PupilBook pupils, SchoolInfo school) : PageModel
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
        // Looked up at each showing, so that the audit itself holds no pupil's name.
        var names = await pupils.CardsAsync(page.Value.Items.Where(entry => KindOf(entry) == "pupil").Select(entry => entry.AboutId ?? default), cancel);
        Lines = [.. page.Value.Items.Select(entry => Show(entry, facts, names))];
        Pager = new(
            "Pages of the audit",
            Cursor is null ? null : new(Here, "Newest"), null,
            page.Value.Next is { } next ? new($"{Here}?cursor={next}", "Older") : null);
        return Page();
    }

    private static Line Show(AuditEntry entry, SchoolFacts school, IReadOnlyDictionary<Guid, PupilCard> pupils)
    {
        var at = entry.At.InZone(school.Zone).LocalDateTime;
        var (about, href) = (KindOf(entry), entry.AboutId) switch
        {
            ("pupil", { } id) => (pupils.TryGetValue(id, out var pupil) ? pupil.Name : "a pupil", $"/pupils/{id}"),
            ("car", { } id) => ("the car", $"/cars/{id}"),
            ("instructor", { } id) => ("the instructor", $"/people/instructors/{id}"),
            ("message", { } id) => ("the message", $"/messages/{id}"),
            ("feed" or "token" or "person" or "sign-in" or "password" or "second-step" or "permission", _) => ("a sign-in", null),
            _ => ("the school", (string?)null),
        };
        return new(entry, $"{ScreenWords.DayAndYear(at.Date)}, {ScreenWords.Time(at.TimeOfDay, school.TwelveHourClock)}", about, href);
    }

    private static string KindOf(AuditEntry entry) => entry.What.Split('.')[0];

    internal sealed record Line(AuditEntry Entry, string When, string About, string? Href);
}
