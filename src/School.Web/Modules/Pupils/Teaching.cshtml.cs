using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Pupils;

[Needs(Permission.TeachPupils), ShowsWhatStands]
[OfPupil("id", Sight.Everything)]
internal sealed class TeachingModel(SchoolDb db, ChangeTeaching change, CheckEyesight check, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public string? Need { get; set; }

    [BindProperty]
    public string? Notes { get; set; }

    [BindProperty]
    public LocalDate? On { get; set; }

    [BindProperty]
    public bool Passed { get; set; } = true;

    public string Name { get; private set; } = "";

    public string Checked { get; private set; } = "";

    public Task<IActionResult> OnGetAsync(CancellationToken cancel) => ShowAsync(fill: true, cancel);

    public Task<IActionResult> OnPostAsync(CancellationToken cancel) =>
        DoAsync(() => change.RunAsync(viewer, Id, new(Need, Notes), Version, cancel), "The notes are kept.", fill: false, cancel);

    public Task<IActionResult> OnPostEyesightAsync(CancellationToken cancel) =>
        DoAsync(() => check.RunAsync(viewer, Id, new(On, Passed), cancel), Passed ? "The eyesight check is recorded." : "The failed eyesight check is recorded. No lesson until one is passed.", fill: true, cancel);

    private async Task<IActionResult> DoAsync(Func<Task<Outcome<Pupil>>> verb, string done, bool fill, CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var outcome = await verb();
            if (outcome.Ok)
            {
                TempData["Done"] = done;
                return LocalRedirect($"/pupils/{Id}");
            }

            this.AddRefusal(outcome.Refusal);
        }

        return await ShowAsync(fill, cancel);
    }

    private async Task<IActionResult> ShowAsync(bool fill, CancellationToken cancel)
    {
        if (await db.Set<Pupil>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == Id, cancel) is not { } pupil)
        {
            return NotFound();
        }

        Name = pupil.Name;
        Checked = pupil.EyesightFailedOn is { } failed ? $"Failed on {ScreenWords.DayAndYear(failed)}: no lesson until a check is passed." : pupil.EyesightCheckedOn is { } on ? $"Last recorded for {ScreenWords.DayAndYear(on)}." : "Not recorded yet.";
        if (fill)
        {
            (Need, Notes, Version) = (pupil.Need, pupil.Notes, pupil.Version);
            On ??= (await school.GetAsync(cancel)).Today(clock);
        }

        return Page();
    }
}
