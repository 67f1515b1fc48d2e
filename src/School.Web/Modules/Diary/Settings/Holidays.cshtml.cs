using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Settings;

/// <summary>The school's list of public holidays, by nation.</summary>
[Needs(Permission.ManageSchool)]
internal sealed class HolidaysModel(SchoolDb db, AddHoliday add, RemoveHoliday remove, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    public static readonly IReadOnlyList<SelectListItem> Nations =
    [
        new("England and Wales", "england-and-wales"), new("Scotland", "scotland"), new("Northern Ireland", "northern-ireland"),
    ];

    [BindProperty(SupportsGet = true)]
    public string? Nation { get; set; }

    [BindProperty]
    public HolidayInput Input { get; set; } = new();

    public IReadOnlyList<Holiday> Days { get; private set; } = [];

    public string NationName => Nations.First(nation => nation.Value == Nation).Text;

    public Task OnGetAsync(CancellationToken cancel) => LoadAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        await LoadAsync(cancel);
        if (Input.Date is null && ModelState.IsValid)
        {
            ModelState.AddModelError("Input.Date", "Enter the date");
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var outcome = await add.RunAsync(viewer, new(Nation, Input.Date!.Value, Input.Name), cancel);
        if (!outcome.Ok)
        {
            this.AddRefusal(outcome.Refusal, outcome.Refusal.Fields.Count > 0 ? nameof(Input) : "");
            return Page();
        }

        TempData["Done"] = $"Added: {ScreenWords.DayAndYear(outcome.Value.Date)}, {outcome.Value.Name}.";
        return LocalRedirect($"/diary/holidays?nation={Nation}");
    }

    public async Task<IActionResult> OnPostRemoveAsync(LocalDate date, CancellationToken cancel)
    {
        await LoadAsync(cancel);
        await remove.RunAsync(viewer, new(Nation!, date), cancel);
        TempData["Done"] = $"Removed: {ScreenWords.DayAndYear(date)}.";
        return LocalRedirect($"/diary/holidays?nation={Nation}");
    }

    private async Task LoadAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        Nation = NationSlugs.Knows(Nation ?? "") ? Nation! : NationSlugs.Knows(facts.Nation) ? facts.Nation : NationSlugs.All.First();
        var (nation, from) = (Nation, new LocalDate(facts.Today(clock).Year, 1, 1));
        Days = await db.Set<Holiday>().AsNoTracking().Where(h => h.Nation == nation && h.Date >= from).OrderBy(h => h.Date).ToListAsync(cancel);
    }

    internal sealed class HolidayInput
    {
        public LocalDate? Date { get; set; }

        public string? Name { get; set; }
    }
}
