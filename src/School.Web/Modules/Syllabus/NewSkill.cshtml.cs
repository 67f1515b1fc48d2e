using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Core.Syllabus;
using School.Web.Modules.Syllabus.Editing;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus;

/// <summary>The office adds a skill; its key is made from its name and stays.</summary>
[Needs(Permission.ChangeSyllabus)]
internal sealed class NewSkillModel(SyllabusBook book, ChangeSyllabus change, Viewer viewer) : PageModel
{
    [BindProperty]
    public int Edition { get; set; }

    [BindProperty]
    public SkillForm Input { get; set; } = new();

    public SyllabusEdition Shown { get; private set; } = null!;

    public async Task OnGetAsync(CancellationToken cancel)
    {
        Shown = await book.CurrentAsync(cancel);
        Edition = Shown.Number;
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        Shown = await book.CurrentAsync(cancel);
        var taken = (await book.EveryAsync(cancel)).SelectMany(edition => edition.Skills).Select(skill => skill.Key).ToHashSet(StringComparer.Ordinal);
        var key = SkillKeys.New(Input.Name ?? "", taken);
        var read = Input.Read(key);
        if (!read.Ok)
        {
            this.AddRefusal(read.Refusal, nameof(Input));
            return Page();
        }

        var changed = await change.RunAsync(viewer, edition => edition.Add(read.Value.Skill, read.Value.Group), Edition, cancel);
        if (changed.Ok)
        {
            TempData["Done"] = $"“{read.Value.Skill.Name}” is added, in edition {changed.Value.Number}.";
            return Redirect($"/syllabus/skills/{key}");
        }

        this.AddRefusal(changed.Refusal);
        return Page();
    }
}
