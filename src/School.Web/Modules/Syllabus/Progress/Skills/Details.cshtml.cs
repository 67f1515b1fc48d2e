using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Syllabus.Skills;
using School.Web.Platform.Access;

namespace School.Web.Modules.Syllabus.Progress.Skills;

/// <summary>How a pupil's level in one skill moved, lesson by lesson.</summary>
[Needs(Permission.SeeLearning)]
[OfPupil("pupilId", Sight.ByReason)]
internal sealed class DetailsModel(ProgressReader reader, Viewer viewer) : PageModel
{
    private const int Shown = 30;

    /// <summary>Every level given; else the latest.</summary>
    [BindProperty(SupportsGet = true)]
    public bool All { get; set; }

    public PupilProgress Progress { get; private set; } = null!;

    public IEnumerable<LevelMove> Moves => Line.Moves.Reverse().Take(All ? int.MaxValue : Shown);

    public bool Folded => !All && Line.Moves.Count > Shown;

    public SkillLine Line { get; private set; } = null!;

    public bool Own => viewer.PupilId == Progress.Pupil.Id;

    public async Task<IActionResult> OnGetAsync(Guid pupilId, string key, CancellationToken cancel)
    {
        if (await reader.FindAsync(pupilId, withWriters: false, cancel) is not { } progress || progress.Find(key) is not { } line)
        {
            return NotFound();
        }

        (Progress, Line) = (progress, line);
        return Page();
    }
}
