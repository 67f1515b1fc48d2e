using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Cars;

[Needs(Permission.SeeCars)]
internal sealed class IndexModel(SchoolDb db, SchoolInfo school, InstructorBook instructors, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public bool Retired { get; set; }

    public bool MayManage => viewer.May(Permission.ManageCars);

    public IReadOnlyList<Line> Rows { get; private set; } = [];

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var facts = await school.GetAsync(cancel);
        var today = facts.Today(clock);
        var names = await instructors.NamesAsync(cancel);
        var cars = await db.Set<Car>().AsNoTracking().AsSplitQuery()
            .Include(c => c.Holdings.Where(h => h.From <= today && (h.To == null || h.To >= today)))
            .Include(c => c.OffRoad.Where(o => o.StartsAt <= now && (o.EndsAt == null || o.EndsAt > now)))
            .Where(c => Retired || c.RetiredOn == null).OrderBy(c => c.Label).ThenBy(c => c.Id).ToListAsync(cancel);
        Rows = cars.ConvertAll(c => new Line(
            c, c.Gearbox.Words(), c.Holdings is [{ } holding] ? names[holding.InstructorId] : null, c.OffRoad.Count > 0,
            c.RetiredOn is null ? [.. PaperLine.Of(c, today, facts.FirstMotYears).Where(p => p.Heed)] : []));
    }

    internal sealed record Line(Car Car, string Gearbox, string? Holder, bool OffRoad, IReadOnlyList<PaperLine> Papers);
}
