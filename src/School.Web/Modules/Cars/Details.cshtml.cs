using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Cars;

[Needs(Permission.SeeCars)]
internal sealed class DetailsModel(SchoolDb db, SchoolInfo school, InstructorBook instructors, Viewer viewer, IClock clock) : PageModel
{
    public Car Car { get; private set; } = null!;

    public IReadOnlyList<PaperLine> Papers { get; private set; } = [];

    public IReadOnlyList<HoldingLine> Holdings { get; private set; } = [];

    public IReadOnlyList<OffRoadLine> OffRoad { get; private set; } = [];

    /// <summary>Which anniversary of its registration asks for the first MOT, and where that stands.</summary>
    public string FirstMot { get; private set; } = "";

    public bool MayManage => viewer.May(Permission.ManageCars);

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        var car = await db.Set<Car>().AsNoTracking().AsSplitQuery().Include(c => c.Holdings).Include(c => c.OffRoad).SingleOrDefaultAsync(c => c.Id == id, cancel);
        if (car is null)
        {
            return NotFound();
        }

        var facts = await school.GetAsync(cancel);
        var today = facts.Today(clock);
        Car = car;
        Papers = PaperLine.Of(car, today, facts.FirstMotYears);
        FirstMot = facts.FirstMotYears == CarFacts.FirstMotInNorthernIreland ? "fourth anniversary of registration: nidirect.gov.uk" : "third anniversary of registration: gov.uk/getting-an-mot";
        Holdings = HoldingLine.Of(car, await instructors.NamesAsync(cancel), today);
        OffRoad = OffRoadLine.Of(car, facts, clock.GetCurrentInstant());
        return Page();
    }
}
