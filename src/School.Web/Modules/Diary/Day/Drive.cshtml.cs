using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Day;

/// <summary>Takes the taps of the day page: leaving, arrived, never mind. There is nothing to see here but the day.</summary>
[Needs(Permission.DriveTheDay)]
internal sealed class DriveModel(DriveTaps taps, DriveLog drives, Viewer viewer, SchoolInfo school, IClock clock) : PageModel
{
    private const string TheDay = "/diary/day";

    public IActionResult OnGet() => LocalRedirect(TheDay);

    public async Task<IActionResult> OnPostAsync(string? tap, CancellationToken cancel)
    {
        if (viewer.InstructorId is not { } instructor)
        {
            return NotFound();
        }

        if (tap == "forget")
        {
            await drives.ForgetAsync(instructor, cancel);
            TempData["Done"] = "The drive is not recorded.";
            return LocalRedirect(TheDay);
        }

        var done = await taps.TapAsync(tap == "arrived", clock.GetCurrentInstant(), (await school.GetAsync(cancel)).Today(clock), cancel);
        TempData["Done"] = done.Ok ? done.Value : done.Refusal.For(Viewer.From(User));
        return LocalRedirect(TheDay);
    }
}
