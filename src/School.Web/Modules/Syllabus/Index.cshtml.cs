using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Core.Syllabus;
using School.Web.Platform.Access;

namespace School.Web.Modules.Syllabus;

/// <summary>The skills in their groups: each leads to its page.</summary>
[Needs(Permission.SeeLearning)]
internal sealed class IndexModel(SyllabusBook book, Viewer viewer) : PageModel
{
    public SyllabusEdition Edition { get; private set; } = null!;

    public bool IsOld { get; private set; }

    public bool Staff => viewer.May(Permission.SeeSyllabus);

    public bool MayChange => viewer.May(Permission.ChangeSyllabus) && !IsOld;

    public string Address(Skill skill) => $"/syllabus/skills/{skill.Key}" + (IsOld ? $"?edition={Edition.Number}" : "");

    public async Task<IActionResult> OnGetAsync(int? edition, CancellationToken cancel)
    {
        var current = await book.CurrentAsync(cancel);
        if (!ModelState.IsValid || (edition is { } number ? await book.FindAsync(number, cancel) : current) is not { } found)
        {
            return NotFound();
        }

        (Edition, IsOld) = (found, found.Number != current.Number);
        return Page();
    }
}
