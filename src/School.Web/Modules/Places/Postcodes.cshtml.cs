using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Places.Postcodes;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Places;

/// <summary>Which postcodes are loaded, and the way to load others.</summary>
[Needs(Permission.ManageSchool)]
[RequestFormLimits(MultipartBodyLengthLimit = PostcodeFile.LargestUpload)]
internal sealed class PostcodesModel(SchoolDb db, LoadPostcodes load, SchoolInfo school, Viewer viewer) : PageModel
{
    public const string Path = "/places/postcodes";

    [BindProperty]
    public IFormFile? Upload { get; set; }

    public PostcodeSet? Set { get; private set; }

    public LocalDate? LoadedOn { get; private set; }

    public Task OnGetAsync(CancellationToken cancel) => LoadAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (Upload is null)
        {
            ModelState.AddModelError(nameof(Upload), "Choose the file.");
        }

        if (ModelState.IsValid)
        {
            // The form keeps it on disk, under a name that it does not tell.
            await using var kept = KeptUpload.New();
            await Upload!.CopyToAsync(kept, cancel);
            await kept.FlushAsync(cancel);
            var loaded = await load.RunAsync(viewer, new(new(kept.Name, System.IO.Path.GetFileName(Upload.FileName))), cancel);
            if (loaded.Ok)
            {
                TempData["Done"] = PostcodeWords.Loaded(loaded.Value);
                return RedirectToPage();
            }

            this.AddRefusal(loaded.Refusal);
        }

        await LoadAsync(cancel);
        return Page();
    }

    private async Task LoadAsync(CancellationToken cancel)
    {
        Set = await db.Set<PostcodeSet>().AsNoTracking().SingleOrDefaultAsync(cancel);
        LoadedOn = Set?.LoadedAt.InZone((await school.GetAsync(cancel)).Zone).Date;
    }
}
