using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Core.Syllabus;
using School.Web.Modules.Syllabus.Editing;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Syllabus;

/// <summary>Order of the skills, names of the groups, and what is taught no longer.</summary>
[Needs(Permission.ChangeSyllabus)]
internal sealed class ArrangeModel(SyllabusBook book, ChangeSyllabus change, Viewer viewer) : PageModel
{
    /// <summary>The edition that was looked at.</summary>
    [BindProperty]
    public int Edition { get; set; }

    public SyllabusEdition Shown { get; private set; } = null!;

    public IReadOnlyList<Skill> Retired { get; private set; } = [];

    /// <summary>The group whose new name was refused.</summary>
    public string? Wrong { get; private set; }

    public string WrongSentence { get; private set; } = "";

    public string TypedName { get; private set; } = "";

    public Task OnGetAsync(CancellationToken cancel) => LoadAsync(cancel);

    public Task<IActionResult> OnPostUpAsync(string? key, CancellationToken cancel) => MoveAsync(key, later: false, cancel);

    public Task<IActionResult> OnPostDownAsync(string? key, CancellationToken cancel) => MoveAsync(key, later: true, cancel);

    public Task<IActionResult> OnPostRetireAsync(string? key, CancellationToken cancel) => SaveAsync(
        edition => edition.Find(key ?? "") is not { } skill ? Refusal.NotFound("skill") : StillNeeded(edition, skill) is { } needed ? needed : edition.Remove(skill.Key),
        null,
        cancel);

    public async Task<IActionResult> OnPostBackAsync(string? key, string? group, CancellationToken cancel)
    {
        var back = (await book.RetiredAsync(await book.CurrentAsync(cancel), cancel)).FirstOrDefault(skill => skill.Key == key);
        // What it built on may be gone; then it stands alone.
        return await SaveAsync(
            edition => back is null || edition.Groups.All(g => g.Name != group)
                ? Refusal.NotFound("skill")
                : edition.Add(back with { Needs = [.. back.Needs.Where(need => edition.Find(need) is not null)] }, group!),
            key,
            cancel);
    }

    public async Task<IActionResult> OnPostRenameAsync(string? group, string? name, CancellationToken cancel)
    {
        var errors = new FieldErrors();
        var read = errors.ReadLine("name", name, Skill.LongestName, "Enter a name for the group.");
        if (errors.ToRefusal() is not { } refusal)
        {
            return await SaveAsync(edition => edition.Groups.All(g => g.Name != group) ? Refusal.NotFound("group") : edition.RenameGroup(group!, read), null, cancel);
        }

        (Wrong, WrongSentence, TypedName) = (group, refusal.For(Viewer.From(User)), name ?? "");
        ModelState.AddModelError("", refusal.For(Viewer.From(User)));
        await LoadAsync(cancel);
        return Page();
    }

    private Task<IActionResult> MoveAsync(string? key, bool later, CancellationToken cancel) =>
        SaveAsync(edition => edition.Find(key ?? "") is null ? Refusal.NotFound("skill") : edition.Move(key!, later), key, cancel);

    private static Refusal? StillNeeded(SyllabusEdition edition, Skill skill)
    {
        var needing = edition.Skills.Where(other => other.Needs.Contains(skill.Key)).Select(other => $"“{other.Name}”").ToList();
        return needing.Count == 0
            ? null
            : Refusal.Rule("skill_needed", $"“{skill.Name}” cannot be retired while {string.Join(", ", needing)} {(needing.Count == 1 ? "builds" : "build")} on it. Open {(needing.Count == 1 ? "it" : "each of these")}, take the tick away under “Builds on”, then retire “{skill.Name}”.");
    }

    private async Task<IActionResult> SaveAsync(Func<SyllabusEdition, Outcome<SyllabusEdition>> edit, string? stayAt, CancellationToken cancel)
    {
        var changed = ModelState.IsValid ? await change.RunAsync(viewer, edit, Edition, cancel) : Refusal.NotFound("edition");
        if (changed.Ok)
        {
            TempData["Done"] = changed.Value.Number == Edition ? "Nothing was different, so nothing was saved." : $"Saved as edition {changed.Value.Number}.";
            return stayAt is null ? RedirectToPage() : RedirectToPage(null, null, null, stayAt);
        }

        this.AddRefusal(changed.Refusal);
        await LoadAsync(cancel);
        return Page();
    }

    private async Task LoadAsync(CancellationToken cancel)
    {
        Shown = await book.CurrentAsync(cancel);
        Retired = await book.RetiredAsync(Shown, cancel);
    }
}
