using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Pupils;

/// <summary>Who of the staff opened which pupil of others by a reason, newest first.</summary>
[Needs(Permission.ManagePupils)]
internal sealed class OpenedModel(SchoolDb db, SchoolInfo school) : PageModel
{
    private const int PerPage = 50;

    /// <summary>Which page of the list, from 1.</summary>
    [BindProperty(SupportsGet = true)]
    public int Part { get; set; } = 1;

    public IReadOnlyList<Line> Rows { get; private set; } = [];

    public Pager Pager { get; private set; } = new("Pages of the list", null, null, null);

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var part = Math.Clamp(Part, 1, 1000);
        var together = new ReadTogether(db);
        school.Ahead(together);
        var rows = together.Ask(db.Set<PupilAccess>().AsNoTracking().OrderByDescending(a => a.Id).Skip((part - 1) * PerPage).Take(PerPage + 1)
            .Join(db.Set<Pupil>(), a => a.PupilId, p => p.Id, (a, p) => new { a.Id, a.At, a.ByName, a.Reason, a.PupilId, p.Name }).OrderByDescending(a => a.Id));
        await together.RunAsync(cancel);
        var facts = await school.GetAsync(cancel);
        Rows = [.. rows.All.Take(PerPage).Select(a => a.At.InZone(facts.Zone) is var at
            ? new Line($"{ScreenWords.DayAndYear(at.Date)}, {ScreenWords.Time(at.TimeOfDay, facts.TwelveHourClock)}", a.ByName, a.PupilId, a.Name, a.Reason) : null!)];
        Pager = Pager.OfParts("Pages of the list", part, rows.All.Count > PerPage, other => Url.Page("Opened", new { Part = other })!);
    }

    internal sealed record Line(string When, string By, Guid PupilId, string Pupil, string Reason);
}
