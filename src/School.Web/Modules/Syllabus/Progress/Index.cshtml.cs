using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Syllabus.Readiness;
using School.Web.Platform.Access;

namespace School.Web.Modules.Syllabus.Progress;

/// <summary>How far a pupil has come: a pupil's own, or any pupil's for staff.</summary>
[Needs(Permission.SeeLearning)]
[OfPupil("pupilId", Sight.ByReason)]
internal sealed class IndexModel(ProgressReader reader, ForecastBook forecasts, Viewer viewer) : PageModel
{
    public PupilProgress Progress { get; private set; } = null!;

    /// <summary>A pupil sees a forecast once it was shared with them.</summary>
    public bool SeesForecast { get; private set; }

    public bool Own => viewer.PupilId == Progress.Pupil.Id;

    public string Base => $"/syllabus/progress/{Progress.Pupil.Id}";

    public async Task<IActionResult> OnGetAsync(Guid? pupilId, CancellationToken cancel)
    {
        if ((pupilId ?? viewer.PupilId) is not { } id)
        {
            return Redirect("/pupils");
        }

        Func<bool> shared = () => false;
        if (await reader.FindAsync(id, withWriters: false, cancel, together => shared = forecasts.IsShared(together, id)) is not { } progress)
        {
            return NotFound();
        }

        Progress = progress;
        SeesForecast = viewer.Towards(id).KeepsLearning || shared();
        return Page();
    }
}
