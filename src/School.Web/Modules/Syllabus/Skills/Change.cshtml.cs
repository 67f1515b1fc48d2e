using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Core.Syllabus;
using School.Web.Modules.Syllabus.Editing;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Skills;

/// <summary>The office changes the words of a skill, its group, or what it builds on.</summary>
[Needs(Permission.ChangeSyllabus)]
internal sealed class ChangeModel(SyllabusBook book, ChangeSyllabus change, Viewer viewer) : PageModel
{
    [BindProperty]
    public int Edition { get; set; }

    [BindProperty]
    public SkillForm Input { get; set; } = new();

    public SyllabusEdition Shown { get; private set; } = null!;

    public Skill Skill { get; private set; } = null!;

    public async Task<IActionResult> OnGetAsync(string key, CancellationToken cancel)
    {
        if (!await LoadAsync(key, cancel))
        {
            return NotFound();
        }

        (Edition, Input) = (Shown.Number, SkillForm.Of(Skill, Shown.GroupOf(key)!.Name));
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(string key, CancellationToken cancel)
    {
        if (!await LoadAsync(key, cancel))
        {
            return NotFound();
        }

        var read = Input.Read(key);
        if (!read.Ok)
        {
            this.AddRefusal(read.Refusal, nameof(Input));
            return Page();
        }

        var changed = await change.RunAsync(
            viewer, edition => edition.Find(key) is null ? Refusal.NotFound("skill") : edition.Replace(read.Value.Skill, read.Value.Group), Edition, cancel);
        if (changed.Ok)
        {
            TempData["Done"] = changed.Value.Number == Edition ? "Nothing was different, so nothing was saved." : $"Saved as edition {changed.Value.Number}.";
            return Redirect($"/syllabus/skills/{key}");
        }

        this.AddRefusal(changed.Refusal);
        return Page();
    }

    private async Task<bool> LoadAsync(string key, CancellationToken cancel)
    {
        Shown = await book.CurrentAsync(cancel);
        if (Shown.Find(key) is not { } skill)
        {
            return false;
        }

        Skill = skill;
        return true;
    }
}
