using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Pupils;

[Needs(Permission.TeachPupils), ShowsWhatStands]
[OfPupil("id", Sight.Everything)]
internal sealed class PapersModel(SchoolDb db, ChangePapers change, LessonAhead ahead, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public LocalDate? TheoryPassedOn { get; set; }

    [BindProperty]
    public LocalDate? LicenceCheckedOn { get; set; }

    [BindProperty]
    public LocalDate? BirthDate { get; set; }

    /// <summary>Whether it is still to be asked.</summary>
    public bool AsksBirthDate { get; private set; }

    [BindProperty]
    public LicenceInput Licence { get; set; } = new();

    public string Name { get; private set; } = "";

    public Task<IActionResult> OnGetAsync(CancellationToken cancel) => ShowAsync(fill: true, cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var changed = await change.RunAsync(viewer, Id, new(TheoryPassedOn, LicenceCheckedOn, Licence, BirthDate), Version, cancel);
            if (changed.Ok)
            {
                TempData["Done"] = $"Licence, theory test and licence check are kept. {await ahead.TellAsync(changed.Value, cancel)}".Trim();
                return LocalRedirect($"/pupils/{Id}");
            }

            this.AddRefusal(changed.Refusal);
        }

        return await ShowAsync(fill: false, cancel);
    }

    private async Task<IActionResult> ShowAsync(bool fill, CancellationToken cancel)
    {
        if (await db.Set<Pupil>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == Id, cancel) is not { } pupil)
        {
            return NotFound();
        }

        (Name, AsksBirthDate) = (pupil.Name, pupil.BirthDate is null);
        if (fill)
        {
            Licence = LicenceInput.Of(pupil.SeenLicence());
            (TheoryPassedOn, LicenceCheckedOn, Version) = (pupil.TheoryPassedOn, pupil.LicenceCheckedOn, pupil.Version);
        }

        return Page();
    }
}
