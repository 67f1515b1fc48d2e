using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Core.Syllabus;
using School.Web.Modules.Syllabus.Editing;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Shipped;

/// <summary>The texts that come with this version, where they differ from the school's, to be taken over skill by skill.</summary>
[Needs(Permission.ChangeSyllabus)]
internal sealed class IndexModel(SyllabusBook book, ChangeSyllabus change, ShippedComparison comparison, Viewer viewer) : PageModel
{
    /// <summary>The edition that was looked at.</summary>
    [BindProperty]
    public int Edition { get; set; }

    /// <summary>Keys of the ticked skills.</summary>
    [BindProperty]
    public List<string> Take { get; set; } = [];

    public IReadOnlyList<ShippedSkill> Skills { get; private set; } = [];

    public async Task OnGetAsync(CancellationToken cancel)
    {
        await LoadAsync(cancel);
        Take = [.. Skills.Where(line => line is { Here: true, ChangedHere: false }).Select(line => line.Skill.Key)];
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var changed = !ModelState.IsValid ? Refusal.NotFound("edition")
            : Take.Count is 0 or > SyllabusEdition.MostSkills ? Refusal.Invalid(nameof(Take), "Tick the skills whose texts you take over.")
            : await change.RunAsync(viewer, edition => ShippedComparison.Take(edition, Take), Edition, cancel);
        if (changed.Ok)
        {
            TempData["Done"] = changed.Value.Number == Edition ? "Nothing was different, so nothing was saved." : $"Saved as edition {changed.Value.Number}.";
            return RedirectToPage();
        }

        this.AddRefusal(changed.Refusal);
        await LoadAsync(cancel);
        return Page();
    }

    private async Task LoadAsync(CancellationToken cancel)
    {
        var current = await book.CurrentAsync(cancel);
        (Edition, Skills) = (current.Number, await comparison.OfAsync(current, cancel));
        ModelState.Remove(nameof(Edition));
    }
}
