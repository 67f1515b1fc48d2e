using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime.Text;
using School.Core.Syllabus;
using School.Web.Modules.Syllabus.Editing;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus;

/// <summary>Texts that rest on an old source, or on none that anybody has read. The office reads the sources and ticks those that still say the same.</summary>
[Needs(Permission.ChangeSyllabus)]
internal sealed class OldTextsModel(SyllabusBook book, ChangeSyllabus change, OldTexts old, Viewer viewer) : PageModel
{
    /// <summary>The edition that was looked at.</summary>
    [BindProperty]
    public int Edition { get; set; }

    /// <summary>Ticked sources, each as its date and name with a blank between.</summary>
    [BindProperty]
    public List<string> Read { get; set; } = [];

    public IReadOnlyList<OldSource> Sources { get; private set; } = [];

    public static string Value(TextSource source) => $"{LocalDatePattern.Iso.Format(source.Date)} {source.Name}";

    public Task OnGetAsync(CancellationToken cancel) => LoadAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var read = Read.Take(OldTexts.MostSources).Select(SourceOf).OfType<TextSource>().ToHashSet();
        var today = await old.TodayAsync(cancel);
        var changed = !ModelState.IsValid ? Refusal.NotFound("edition")
            : read.Count == 0 ? Refusal.Invalid(nameof(Read), "Tick the sources that you have read.")
            : await change.RunAsync(viewer, edition => OldTexts.Reread(edition, read, today), Edition, cancel);
        if (changed.Ok)
        {
            TempData["Done"] = $"Saved as edition {changed.Value.Number}: {(read.Count == 1 ? "one source is" : $"{read.Count} sources are")} dated today.";
            return RedirectToPage();
        }

        this.AddRefusal(changed.Refusal);
        await LoadAsync(cancel);
        return Page();
    }

    private async Task LoadAsync(CancellationToken cancel)
    {
        var current = await book.CurrentAsync(cancel);
        (Edition, Sources) = (current.Number, await old.OfAsync(current, cancel));
        ModelState.Remove(nameof(Edition));
    }

    private static TextSource? SourceOf(string typed) =>
        typed.Split(' ', 2) is [var date, var name] && LocalDatePattern.Iso.Parse(date) is { Success: true } parsed ? new(name, parsed.Value) : null;
}
