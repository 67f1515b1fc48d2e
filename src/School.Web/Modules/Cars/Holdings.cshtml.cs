using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

[Needs(Permission.ManageCars)]
internal sealed class HoldingsModel(SchoolDb db, HoldCar hold, EndHolding end, SchoolInfo school, InstructorBook instructors, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty]
    public Guid? InstructorId { get; set; }

    [BindProperty]
    public LocalDate? From { get; set; }

    [BindProperty]
    public LocalDate? To { get; set; }

    [BindProperty]
    public Guid? HoldingId { get; set; }

    [BindProperty]
    public LocalDate? LastDay { get; set; }

    public string Label { get; private set; } = "";

    public IReadOnlyList<HoldingLine> Lines { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Instructors { get; private set; } = [];

    public IReadOnlyList<SelectListItem> Open { get; private set; } = [];

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        From = (await school.GetAsync(cancel)).Today(clock);
        return await ShowAsync(cancel);
    }

    public Task<IActionResult> OnPostAsync(CancellationToken cancel) =>
        DoAsync(() => hold.RunAsync(viewer, Id, new(InstructorId, From, To), cancel), "The car is given.", cancel);

    public Task<IActionResult> OnPostEndAsync(CancellationToken cancel)
    {
        if (HoldingId is null)
        {
            ModelState.AddModelError(nameof(HoldingId), "Choose the holding that ends.");
        }

        return DoAsync(() => end.RunAsync(viewer, Id, HoldingId ?? Guid.Empty, LastDay, cancel), "The holding is ended.", cancel);
    }

    private async Task<IActionResult> DoAsync<T>(Func<Task<Outcome<T>>> verb, string done, CancellationToken cancel)
        where T : notnull
    {
        if (ModelState.IsValid)
        {
            var outcome = await verb();
            if (outcome.Ok)
            {
                TempData["Done"] = done;
                return RedirectToPage(new { Id });
            }

            this.AddRefusal(outcome.Refusal);
        }

        return await ShowAsync(cancel);
    }

    private async Task<IActionResult> ShowAsync(CancellationToken cancel)
    {
        if (await db.Set<Car>().AsNoTracking().Include(c => c.Holdings).SingleOrDefaultAsync(c => c.Id == Id, cancel) is not { } car)
        {
            return NotFound();
        }

        Label = car.Label;
        Lines = HoldingLine.Of(car, await instructors.NamesAsync(cancel), (await school.GetAsync(cancel)).Today(clock));
        Open = [.. Lines.Where(l => l.Ends).Select(l => new SelectListItem($"{l.Name}, {l.Days}", l.Id.ToString()))];
        Instructors = [.. (await instructors.ListAsync(alsoRetired: false, cancel)).Select(i => new SelectListItem(i.Name, i.Id.ToString()))];
        return Page();
    }
}
