using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Pupils;

/// <summary>Who of the staff opened which pupil of others by a reason, newest first: of everybody for who looks after people, of their own pupils for an instructor.</summary>
[Needs(Permission.SeePupils)]
[OfPupil("pupil", Sight.Everything)]
internal sealed class OpenedModel(SchoolDb db, OpenedBook opened, SchoolInfo school, Viewer viewer) : PageModel
{
    private const int PerPage = 50;

    /// <summary>Which page of the list, from 1.</summary>
    [BindProperty(SupportsGet = true)]
    public int Part { get; set; } = 1;

    /// <summary>Of one pupil.</summary>
    [BindProperty(SupportsGet = true)]
    public Guid? Pupil { get; set; }

    public bool OfEverybody => Pupil is null && viewer.KeepsPupils;

    public IReadOnlyList<Line> Rows { get; private set; } = [];

    public Pager Pager { get; private set; } = new("Pages of the list", null, null, null);

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var part = Math.Clamp(Part, 1, 1000);
        var together = new ReadTogether(db);
        school.Ahead(together);
        var rows = together.Ask(opened.ReadableBy(viewer, Pupil).OrderByDescending(a => a.Id).Skip((part - 1) * PerPage).Take(PerPage + 1)
            .Join(db.Set<Pupil>(), a => a.PupilId, p => p.Id, (a, p) => new { a.Id, a.At, a.ByName, a.Reason, a.PupilId, p.Name, NumberOnly = a.NumberOn != null }).OrderByDescending(a => a.Id));
        await together.RunAsync(cancel);
        var facts = await school.GetAsync(cancel);
        Rows = [.. rows.All.Take(PerPage).Select(a => new Line(When(a.At, facts), a.ByName, a.PupilId, a.Name, a.Reason, a.NumberOnly))];
        Pager = Pager.OfParts("Pages of the list", part, rows.All.Count > PerPage, other => Url.Page("Opened", new { Pupil, Part = other })!);
    }

    internal static string When(Instant at, SchoolFacts facts) =>
        at.InZone(facts.Zone) is var then ? $"{ScreenWords.DayAndYear(then.Date)}, {ScreenWords.Time(then.TimeOfDay, facts.TwelveHourClock)}" : "";

    internal sealed record Line(string When, string By, Guid PupilId, string Pupil, string Reason, bool NumberOnly);
}
