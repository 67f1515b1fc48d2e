using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Cars;

[Needs(Permission.ManageCars), ShowsWhatStands]
internal sealed class ChangeModel(SchoolDb db, ChangeCar change, RetireCar retire, TakeBackCar takeBack, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    /// <summary>The version that was opened; a change in between is told, not overwritten.</summary>
    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public CarInput Input { get; set; } = new();

    public string Label { get; private set; } = "";

    public bool IsRetired { get; private set; }

    public Task<IActionResult> OnGetAsync(CancellationToken cancel) => ShowAsync(fill: true, cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var changed = await change.RunAsync(viewer, Id, Input, Version, cancel);
            if (changed.Ok)
            {
                TempData["Done"] = $"What you changed about the {changed.Value.Label} is kept.";
                return LocalRedirect($"/cars/{Id}");
            }

            this.AddRefusal(changed.Refusal, nameof(Input));
        }

        return await ShowAsync(fill: false, cancel);
    }

    public async Task<IActionResult> OnPostRetireAsync(CancellationToken cancel)
    {
        var retired = await retire.RunAsync(viewer, Id, null, cancel);
        if (retired.Ok)
        {
            TempData["Done"] = $"The {retired.Value.Label} is retired.";
            return LocalRedirect($"/cars/{Id}");
        }

        ModelState.Clear();
        this.AddRefusal(retired.Refusal);
        return await ShowAsync(fill: true, cancel);
    }

    public async Task<IActionResult> OnPostTakeBackAsync(CancellationToken cancel)
    {
        if ((await takeBack.RunAsync(viewer, Id, null, cancel)).Value is not { } back)
        {
            return NotFound();
        }

        TempData["Done"] = $"The {back.Label} is taught in again. Give it to an instructor.";
        return LocalRedirect($"/cars/{Id}");
    }

    private async Task<IActionResult> ShowAsync(bool fill, CancellationToken cancel)
    {
        if (await db.Set<Car>().AsNoTracking().SingleOrDefaultAsync(c => c.Id == Id, cancel) is not { } car)
        {
            return NotFound();
        }

        (Label, IsRetired) = (car.Label, car.RetiredOn is not null);
        if (fill)
        {
            (Input, Version) = (CarInput.Of(car), car.Version);
        }

        return Page();
    }
}
