using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Core.Syllabus;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Syllabus.Skills;

/// <summary>One skill: for staff all that helps to teach it, for a pupil the plain words.</summary>
[Needs(Permission.SeeLearning)]
internal sealed class DetailsModel(SyllabusBook book, Viewer viewer) : PageModel
{
    public SyllabusEdition Edition { get; private set; } = null!;

    public Skill Skill { get; private set; } = null!;

    public string Group { get; private set; } = "";

    /// <summary>Counted from 1 through all groups.</summary>
    public int Place { get; private set; }

    public bool IsOld { get; private set; }

    /// <summary>Whether the newest edition has it too.</summary>
    public bool StillThere { get; private set; }

    public IReadOnlyList<Skill> BuildsOn { get; private set; } = [];

    public Pager Pager { get; private set; } = null!;

    public bool Staff => viewer.May(Permission.SeeSyllabus);

    public bool MayChange => viewer.May(Permission.ChangeSyllabus) && !IsOld;

    public bool IsEmpty => Skill.Explain.Count + Skill.Demonstrate.Count + Skill.LookFor.Count + Skill.Mistakes.Count + Skill.Safety.Count + Skill.Ask.Count
        + Skill.Automatic.Count + Skill.Manual.Count + Skill.Rules.Count == 0;

    public async Task<IActionResult> OnGetAsync(string key, int? edition, CancellationToken cancel)
    {
        var current = await book.CurrentAsync(cancel);
        var read = edition is { } number ? await book.FindAsync(number, cancel) : current;
        if (!ModelState.IsValid || read?.Find(key) is not { } skill)
        {
            return NotFound();
        }

        (Edition, Skill, Group) = (read, skill, read.GroupOf(key)!.Name);
        (IsOld, StillThere) = (read.Number != current.Number, current.Find(key) is not null);
        BuildsOn = [.. skill.Needs.Select(read.Find).OfType<Skill>()];
        var all = read.Skills.ToList();
        Place = all.IndexOf(skill) + 1;
        var ask = IsOld ? $"?edition={read.Number}" : "";
        Pager = new("Skills", Link(Place - 2), new("/syllabus" + ask, "Syllabus"), Link(Place));
        return Page();

        NavItem? Link(int at) => at >= 0 && at < all.Count ? new($"/syllabus/skills/{all[at].Key}{ask}", all[at].Name) : null;
    }
}
