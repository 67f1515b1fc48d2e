using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People.Instructors;

[Needs(Permission.ManageInstructors)]
internal sealed class NewModel(AddInstructor add, Viewer viewer) : PageModel
{
    [BindProperty]
    public InstructorForm Input { get; set; } = new();

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!ModelState.IsValid)
        {
            return Page();
        }

        var saved = await add.RunAsync(viewer, Input.ToInput(), cancel);
        if (!saved.Ok)
        {
            this.AddRefusal(saved.Refusal, nameof(Input));
            return Page();
        }

        TempData["Done"] = $"{saved.Value.Name} is added. Next: invite them to sign in, set working hours, and give them a car.";
        return LocalRedirect($"/people/instructors/{saved.Value.Id}");
    }
}
