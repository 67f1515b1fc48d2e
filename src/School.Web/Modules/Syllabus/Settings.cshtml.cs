using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Syllabus.Editing;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Syllabus;

/// <summary>The school's own numbers about learning.</summary>
[Needs(Permission.ChangeSyllabus), ShowsWhatStands]
internal sealed class SettingsModel(SyllabusBook book, ChangeSettings change, Viewer viewer) : PageModel
{
    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public int? StaleDays { get; set; }

    [BindProperty]
    public int? PracticeWeight { get; set; }

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var settings = await book.SettingsAsync(cancel);
        (Version, StaleDays, PracticeWeight) = (settings.Version, settings.StaleDays, settings.PracticeWeight);
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return Page();
        }

        var changed = await change.RunAsync(viewer, new(StaleDays, PracticeWeight), Version, cancel);
        if (changed.Ok)
        {
            TempData["Done"] = "The settings are saved.";
            return RedirectToPage();
        }

        this.AddRefusal(changed.Refusal);
        return Page();
    }
}
