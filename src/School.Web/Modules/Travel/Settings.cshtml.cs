using System.Globalization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Core.Travel;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Travel;

[Needs(Permission.ManageSchool)]
internal sealed class SettingsModel(SchoolDb db, ChangeTravelSettings change) : PageModel
{
    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public string? DetourFactor { get; set; }

    [BindProperty]
    public List<string?> Weekday { get; set; } = [];

    [BindProperty]
    public List<string?> Saturday { get; set; } = [];

    [BindProperty]
    public List<string?> Sunday { get; set; } = [];

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var row = await db.Set<TravelSettings>().AsNoTracking().SingleAsync(cancel);
        (Version, DetourFactor) = (row.Version, Text(row.DetourFactor));
        (Weekday, Saturday, Sunday) = (row.WeekdayMph.ConvertAll(Text), row.SaturdayMph.ConvertAll(Text), row.SundayMph.ConvertAll(Text));
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var changed = await change.RunAsync(Version, new()
        {
            DetourFactor = Number(DetourFactor),
            WeekdayMph = Weekday.ConvertAll(Number),
            SaturdayMph = Saturday.ConvertAll(Number),
            SundayMph = Sunday.ConvertAll(Number),
        }, cancel);
        if (changed.Ok)
        {
            TempData["Done"] = "Driving times are estimated this way from now on.";
            return RedirectToPage();
        }

        foreach (var (field, sentences) in changed.Refusal.Fields)
        {
            var days = field switch
            {
                nameof(StraightLineSettings.WeekdayMph) => "Monday to Friday: ",
                nameof(StraightLineSettings.SaturdayMph) => "Saturday: ",
                nameof(StraightLineSettings.SundayMph) => "Sunday: ",
                _ => "",
            };
            ModelState.AddModelError(days.Length == 0 ? field : "", days + string.Join(" ", sentences));
        }

        if (changed.Refusal.Fields.Count == 0)
        {
            ModelState.AddModelError("", changed.Refusal.Sentence);
        }

        Pad(Weekday);
        Pad(Saturday);
        Pad(Sunday);
        return Page();
    }

    /// <summary>Numbers are written with a full stop whatever the server's language; what is none is refused with the rest.</summary>
    private static double Number(string? typed) =>
        double.TryParse(typed, NumberStyles.Float, CultureInfo.InvariantCulture, out var number) ? number : double.NaN;

    private static string? Text(double number) => number.ToString(CultureInfo.InvariantCulture);

    private static void Pad(List<string?> speeds)
    {
        while (speeds.Count < 24)
        {
            speeds.Add(null);
        }
    }
}
