using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Core.Syllabus;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Syllabus.Practice;
using School.Web.Platform.Access;

namespace School.Web.Modules.Syllabus.Progress.Practice;

/// <summary>A pupil's drives between lessons, with the rules for whoever sits beside them.</summary>
[Needs(Permission.SeeLearning)]
[OfPupil("pupilId", Sight.ByReason)]
internal sealed class IndexModel(PupilBook pupils, PracticeBook book, SyllabusBook syllabus, Viewer viewer) : PageModel
{
    private const int Shown = 50;

    private readonly Dictionary<int, SyllabusEdition> editions = [];

    /// <summary>Every drive; else the latest.</summary>
    [BindProperty(SupportsGet = true)]
    public bool All { get; set; }

    public IEnumerable<PracticeCard> Listed => Drives.Reverse().Take(All ? int.MaxValue : Shown);

    public bool Folded => !All && Drives.Count > Shown;

    public PupilCard Pupil { get; private set; } = null!;

    /// <summary>Earliest first.</summary>
    public IReadOnlyList<PracticeCard> Drives { get; private set; } = [];

    public bool Own => viewer.PupilId == Pupil.Id;

    public int Minutes(PracticeCondition? under = null) => Drives.Where(drive => under is not { } one || drive.Conditions.Contains(one)).Sum(drive => drive.Minutes);

    /// <summary>Names of the skills as they were when the drive was logged.</summary>
    public string SkillNames(PracticeCard drive) => string.Join(", ", drive.Skills.Select(key => editions[drive.Edition].Find(key)?.Name ?? key));

    public async Task<IActionResult> OnGetAsync(Guid pupilId, CancellationToken cancel)
    {
        if (await pupils.FindAsync(pupilId, viewer, cancel) is not { } pupil)
        {
            return NotFound();
        }

        (Pupil, Drives) = (pupil, await book.OfPupilAsync(pupilId, cancel));
        foreach (var number in Drives.Select(drive => drive.Edition).Distinct())
        {
            editions[number] = (await syllabus.FindAsync(number, cancel))!;
        }

        return Page();
    }
}
