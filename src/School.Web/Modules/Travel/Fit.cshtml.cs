using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Core.Travel;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Travel;

/// <summary>What the recorded drives say of the usual speeds; one button takes it over.</summary>
[Needs(Permission.ManageSchool)]
internal sealed class FitModel(FitTravel fit, UseTravelFit use, SchoolInfo school, InstructorBook instructors, Viewer viewer) : PageModel
{
    [BindProperty]
    public int Version { get; set; }

    public FitView View { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public IReadOnlyDictionary<Guid, string> Names { get; private set; } = null!;

    public Task OnGetAsync(CancellationToken cancel) => LoadAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var used = await use.RunAsync(viewer, Version, cancel);
        if (used.Ok)
        {
            TempData["Done"] = "Driving times use the fitted speeds from now on.";
            return RedirectToPage("Settings");
        }

        this.AddRefusal(used.Refusal);
        ModelState.Remove(nameof(Version));
        await LoadAsync(cancel);
        return Page();
    }

    public static string Days(DayKind days) => days switch { DayKind.Saturday => "Saturday", DayKind.Sunday => "Sunday", _ => "Mon–Fri" };

    public static string Hours(SpeedBand band) => $"{band.From:00}:00–{band.Until:00}:00";

    public string When(RecordedDrive drive)
    {
        var local = drive.LeftAt.InZone(School.Zone).LocalDateTime;
        return $"{ScreenWords.Day(local.Date)}, {ScreenWords.Time(local.TimeOfDay, School.TwelveHourClock)}";
    }

    private async Task LoadAsync(CancellationToken cancel)
    {
        View = await fit.ReadAsync(cancel);
        Version = View.Settings.Version;
        School = await school.GetAsync(cancel);
        Names = await instructors.NamesAsync(cancel);
    }
}
