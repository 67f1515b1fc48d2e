using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

[Needs(Permission.ManagePupils)]
internal sealed class NewModel(AddPupil add, Viewer viewer) : PageModel
{
    [BindProperty]
    public NewPupilInput Input { get; set; } = new();

    /// <summary>Whether something is wrong in what is folded away.</summary>
    public bool WrongFurtherDown => ModelState.Any(entry => entry.Value!.Errors.Count > 0
        && entry.Key is not ($"{nameof(Input)}.{nameof(Input.Name)}" or $"{nameof(Input)}.{nameof(Input.Phone)}" or $"{nameof(Input)}.{nameof(Input.Email)}"));

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return Page();
        }

        // Hardly anybody gives their home a name.
        var input = Input.PickUp is { Label: null or "" } home && !string.IsNullOrWhiteSpace(home.Postcode) ? Input with { PickUp = home with { Label = "Home" } } : Input;
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
