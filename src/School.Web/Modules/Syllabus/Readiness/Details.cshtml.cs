using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Syllabus.Skills;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Readiness;

/// <summary>What the record says of the way still to go; a pupil sees their own, staff everybody's.</summary>
[Needs(Permission.SeeLearning)]
[OfPupil("id", Sight.ByReason)]
internal sealed class DetailsModel(
    ReadinessReader reader, ForecastBook forecasts, ShareForecast share, WithdrawForecast withdraw, PupilBook pupils, SchoolInfo school, Viewer viewer) : PageModel
{
    public string Name { get; private set; } = "";

    public bool Staff { get; private set; }

    public bool Office => viewer.May(Permission.ManageSchool);

    /// <summary>Null where the viewer is the pupil and nothing is shared.</summary>
    public PupilReadiness? Readiness { get; private set; }

    /// <summary>What was said to the pupil; null while they see nothing.</summary>
    public SharedForecast? Shared { get; private set; }

    public LocalDate? SharedOn { get; private set; }

    [BindProperty]
    public string? Sentence { get; set; }

    [BindProperty]
    public int? Version { get; set; }

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (!await ReadAsync(id, cancel))
        {
            return NotFound();
        }

        (Sentence, Version) = (Shared?.Sentence, Shared?.Version);
        return Page();
    }

    public async Task<IActionResult> OnPostShareAsync(Guid id, CancellationToken cancel)
    {
        if (!viewer.Towards(id).KeepsLearning)
        {
            return NotFound();
        }

        var shared = await share.RunAsync(viewer, id, new(Sentence), Version ?? ShareForecast.NotShared, cancel);
        if (shared.Ok)
        {
            TempData["Done"] = "The pupil sees the forecast now, with your sentence.";
            return LocalRedirect($"/syllabus/readiness/{id}");
        }

        if (shared.Refusal.Kind == RefusalKind.NotFound || !await ReadAsync(id, cancel))
        {
            return NotFound();
        }

        this.AddRefusal(shared.Refusal);
        if (shared.Refusal.Kind == RefusalKind.Stale)
        {
            // The page shows what stands now, so the next press is meant for that.
            ModelState.Remove(nameof(Version));
            Version = Shared?.Version;
        }

        return Page();
    }

    public async Task<IActionResult> OnPostWithdrawAsync(Guid id, CancellationToken cancel)
    {
        if (!viewer.Towards(id).KeepsLearning)
        {
            return NotFound();
        }

        // Taken back already is as good as taken back now.
        if (await withdraw.RunAsync(viewer, id, null, cancel) is { Refusal.Kind: RefusalKind.NotAllowed })
        {
            return NotFound();
        }

        TempData["Done"] = "Taken back: the pupil sees no forecast any more.";
        return LocalRedirect($"/syllabus/readiness/{id}");
    }

    private async Task<bool> ReadAsync(Guid id, CancellationToken cancel)
    {
        if (await pupils.FindAsync(id, viewer, cancel) is not { } pupil)
        {
            return false;
        }

        Staff = viewer.Towards(id).KeepsLearning;
        (Name, Shared) = (pupil.Name, await forecasts.OfPupilAsync(id, cancel));
        SharedOn = Shared?.SharedAt.InZone((await school.GetAsync(cancel)).Zone).Date;
        Readiness = Staff || Shared is not null ? await reader.OfPupilAsync(id, cancel) : null;
        return true;
    }
}
