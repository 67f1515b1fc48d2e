using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Office;

/// <summary>The first thing that a school says of itself.</summary>
[Needs(Permission.ManageSchool)]
internal sealed class WhoModel(SayWho say, SchoolInfo school, Viewer viewer) : PageModel
{
    public static IReadOnlyList<SelectListItem> Ways { get; } = [new("I teach, alone", "true"), new("Others teach, or others too", "false")];

    [BindProperty]
    public bool? Alone { get; set; }

    [BindProperty]
    public string? Name { get; set; }

    [BindProperty]
    public string? Zone { get; set; }

    [BindProperty]
    public string? Nation { get; set; }

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        (Name, Zone, Nation) = (facts.IsNamed ? facts.Name : null, facts.Zone.Id, facts.Nation);
        Alone = facts.IsNamed ? viewer.InstructorId is not null : null;
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var said = await say.RunAsync(viewer, new(Alone, new(Name, Zone, Nation)), cancel);
            if (said.Ok)
            {
                TempData["Done"] = $"{said.Value.Name} is what pupils read from now on.";
                return LocalRedirect(ComesBack.Page);
            }

            this.AddRefusal(said.Refusal);
        }

        return Page();
    }
}
