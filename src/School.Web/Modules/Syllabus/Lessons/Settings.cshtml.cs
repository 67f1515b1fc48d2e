using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>When pupils are sent the brief of tomorrow's lesson.</summary>
[Needs(Permission.ManageSchool), ShowsWhatStands]
internal sealed class SettingsModel(BriefSettingsBook settings, ChangeBriefSettings change, Viewer viewer) : PageModel
{
    public static IReadOnlyList<SelectListItem> Hours { get; } =
        [.. Enumerable.Range(BriefSettings.EarliestHour, BriefSettings.LatestHour - BriefSettings.EarliestHour + 1)
            .Select(hour => new SelectListItem(ScreenWords.Time(new LocalTime(hour, 0)), $"{hour}"))];

    [BindProperty]
    public HourInput Input { get; set; } = new();

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var row = await settings.ReadAsync(cancel);
        Input = new() { Hour = row.Hour, Version = row.Version };
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return Page();
        }

        var outcome = await change.RunAsync(viewer, new() { Hour = Input.Hour }, Input.Version, cancel);
        if (outcome.Ok)
        {
            TempData["Done"] = Input.Hour is { } hour ? $"Saved. Briefs go out from {ScreenWords.Time(new LocalTime(hour, 0))} the evening before." : "Saved. No briefs are sent.";
            return RedirectToPage();
        }

        this.AddRefusal(outcome.Refusal, outcome.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        return Page();
    }

    internal sealed class HourInput
    {
        public int? Hour { get; set; }

        public int Version { get; set; }
    }
}
