using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Find;

namespace School.Web.Modules.Office;

/// <summary>Whatever the viewer may see, by the words that are typed.</summary>
[Needs(Permission.OwnSignIn)]
internal sealed class FindModel(Finder finder, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public string? Q { get; set; }

    /// <summary>Only these, and more of them.</summary>
    [BindProperty(SupportsGet = true)]
    public FoundKind? Kind { get; set; }

    public bool Asked => !string.IsNullOrWhiteSpace(Q) && ModelState.IsValid;

    public IReadOnlyList<(FoundKind Kind, IReadOnlyList<Found> Items, string? More)> Kinds { get; private set; } = [];

    public static string Words(FoundKind kind) => kind switch
    {
        FoundKind.Pupil => "Pupils",
        FoundKind.Lesson => "Lessons",
        FoundKind.Test => "Tests",
        FoundKind.Contact => "Parents and others",
        FoundKind.Instructor => "Instructors",
        FoundKind.Car => "Cars",
        FoundKind.Place => "Places",
        FoundKind.Message => "Messages",
        FoundKind.Page => "Pages",
    };

    public async Task OnGetAsync(CancellationToken cancel)
    {
        if (!Asked)
        {
            return;
        }

        var found = await finder.FindAsync(viewer, Q, Kind, cancel);
        if (!found.Ok)
        {
            this.AddRefusal(found.Refusal);
            return;
        }

        Kinds =
        [
            .. found.Value.GroupBy(one => one.Kind).Select(kind => (kind.Key, (IReadOnlyList<Found>)[.. kind],
                Kind is null && kind.Count() == Finder.OfEach ? $"/find?q={Uri.EscapeDataString(Q!)}&kind={kind.Key}" : null)),
        ];
    }
}
