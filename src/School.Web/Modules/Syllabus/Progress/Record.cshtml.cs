using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Syllabus.Practice;
using School.Web.Platform.Access;

namespace School.Web.Modules.Syllabus.Progress;

/// <summary>All that was recorded about a pupil's learning, to print or to take along.</summary>
[Needs(Permission.SeeLearning)]
[OfPupil("pupilId", Sight.ByReason)]
internal sealed class RecordModel(ProgressReader reader) : PageModel
{
    private const int Shown = 30;

    /// <summary>Everything, as it is printed; else the latest.</summary>
    [BindProperty(SupportsGet = true)]
    public bool All { get; set; }

    public PupilProgress Progress { get; private set; } = null!;

    public IEnumerable<RecordedLesson> Lessons => Progress.Lessons.Reverse().Take(All ? int.MaxValue : Shown);

    public IEnumerable<PracticeCard> Practice => Progress.Practice.Reverse().Take(All ? int.MaxValue : Shown);

    /// <summary>Whether something is left out.</summary>
    public bool Folded => !All && (Progress.Lessons.Count > Shown || Progress.Practice.Count > Shown);

    public async Task<IActionResult> OnGetAsync(Guid pupilId, CancellationToken cancel)
    {
        if (await reader.FindAsync(pupilId, withWriters: true, cancel) is not { } progress)
        {
            return NotFound();
        }

        Progress = progress;
        return Page();
    }
}
