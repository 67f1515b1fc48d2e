using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Pupils;

[Needs(Permission.ManagePupils)]
internal sealed class NewModel(AddPupil add, InstructorBook instructors, Viewer viewer) : PageModel
{
    [BindProperty]
    public NewPupilInput Input { get; set; } = new();

    /// <summary>Whether something is wrong in what is folded away, or all of it is asked for.</summary>
    public bool AllOpen => ComesBack.IsFrom(Request) || ModelState.Any(entry => entry.Value!.Errors.Count > 0
        && entry.Key is not ($"{nameof(Input)}.{nameof(Input.Name)}" or $"{nameof(Input)}.{nameof(Input.Phone)}" or $"{nameof(Input)}.{nameof(Input.Email)}"));

    /// <summary>Filled in where the school leaves no choice: who teaches, and in what.</summary>
    public async Task OnGetAsync(CancellationToken cancel)
    {
        var all = await instructors.ListAsync(alsoRetired: false, cancel);
        var gearboxes = all.SelectMany(one => one.Facts.Teaches).Distinct().ToList();
        Input = new() { UsualInstructorId = all is [var only] ? only.Id : null, Gearbox = gearboxes is [var gearbox] ? gearbox : null };
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return Page();
        }

        // Hardly anybody gives their home a name.
        var input = Input.PickUp is { Label: null or "" } home && !(string.IsNullOrWhiteSpace(home.Postcode) && string.IsNullOrWhiteSpace(home.Position)) ? Input with { PickUp = home with { Label = "Home" } } : Input;
        var added = await add.RunAsync(viewer, input, cancel);
        if (!added.Ok)
        {
            this.AddRefusal(added.Refusal, nameof(Input));
            return Page();
        }

        TempData["Done"] = $"{added.Value.Name} is added.{(added.Value.Email.Length > 0 ? " Next: invite them to sign in." : "")}";
        return LocalRedirect($"/pupils/{added.Value.Id}");
    }
}
