using System.Globalization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Core.Travel;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Travel;

[Needs(Permission.ManageSchool)]
internal sealed class SettingsModel(SchoolDb db, ChangeTravelSettings change, TravelModel travel, SchoolInfo school, Viewer viewer) : PageModel
{
    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public string? DetourFactor { get; set; }

    [BindProperty]
    public List<SpeedRow> Weekday { get; set; } = [];

    [BindProperty]
    public List<SpeedRow> Saturday { get; set; } = [];

    [BindProperty]
    public List<SpeedRow> Sunday { get; set; } = [];

    public TravelStatus Status { get; private set; } = null!;

    public string? Warning { get; private set; }

    public IEnumerable<(string Words, string Name, List<SpeedRow> Rows)> Days =>
        [("Monday to Friday", nameof(Weekday), Weekday), ("Saturday", nameof(Saturday), Saturday), ("Sunday", nameof(Sunday), Sunday)];

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var row = await db.Set<TravelSettings>().AsNoTracking().SingleAsync(cancel);
        (Version, DetourFactor) = (row.Version, row.DetourFactor.ToString(CultureInfo.InvariantCulture));
        (Weekday, Saturday, Sunday) = (SpeedRows.Of(row.WeekdayMph), SpeedRows.Of(row.SaturdayMph), SpeedRows.Of(row.SundayMph));
        await LoadAsync(cancel);
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (await SaveAsync(cancel))
        {
            TempData["Done"] = "Driving times are estimated this way from now on.";
            return RedirectToPage();
        }

        (Weekday, Saturday, Sunday) = (SpeedRows.Padded(Weekday), SpeedRows.Padded(Saturday), SpeedRows.Padded(Sunday));
        await LoadAsync(cancel);
        return Page();
    }

    private async Task<bool> SaveAsync(CancellationToken cancel)
    {
        var read = Days.Select(day => (day.Words, Speeds: SpeedRows.Read(day.Rows))).ToList();
        foreach (var (words, speeds) in read.Where(day => day.Speeds.Problem is not null))
        {
            ModelState.AddModelError("", $"{words}: {speeds.Problem}");
        }

        if (!ModelState.IsValid)
        {
            return false;
        }

        var changed = await change.RunAsync(viewer, new()
        {
            DetourFactor = SpeedRows.Number(DetourFactor),
            WeekdayMph = read[0].Speeds.Mph,
            SaturdayMph = read[1].Speeds.Mph,
            SundayMph = read[2].Speeds.Mph,
        }, Version, cancel);
        if (changed.Ok)
        {
            return true;
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
            ModelState.AddModelError("", changed.Refusal.For(Viewer.From(User)));
        }

        return false;
    }

    private async Task LoadAsync(CancellationToken cancel)
    {
        Status = await travel.StatusAsync(cancel);
        Warning = Status.Warning(await school.GetAsync(cancel));
    }
}
