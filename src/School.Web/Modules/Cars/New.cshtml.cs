using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

[Needs(Permission.ManageCars)]
internal sealed class NewModel(AddCar add, Viewer viewer) : PageModel
{
    [BindProperty]
    public CarInput Input { get; set; } = new();

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return Page();
        }

        var added = await add.RunAsync(viewer, Input, cancel);
        if (!added.Ok)
        {
            this.AddRefusal(added.Refusal, nameof(Input));
            return Page();
        }

        TempData["Done"] = $"The {added.Value.Label} is added. Next: give it to an instructor.";
        return LocalRedirect($"/cars/{added.Value.Id}/holdings");
    }
}
