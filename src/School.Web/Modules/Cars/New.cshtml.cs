using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

[Needs(Permission.ManageCars)]
internal sealed class NewModel(AddCar add, InstructorBook instructors, Viewer viewer) : PageModel
{
    [BindProperty]
    public NewCarInput Input { get; set; } = new();

    public IReadOnlyList<SelectListItem> Instructors { get; private set; } = [];

    public async Task OnGetAsync(CancellationToken cancel)
    {
        var all = await ChoicesAsync(cancel);
        if (all is [var only])
        {
            Input = new() { HeldBy = only.Id, Gearbox = only.Facts.Teaches is [var gearbox] ? gearbox : null };
        }
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        await ChoicesAsync(cancel);
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

        TempData["Done"] = Input.HeldBy is null ? $"The {added.Value.Label} is added. Next: give it to an instructor." : $"The {added.Value.Label} is added and given.";
        return LocalRedirect(Input.HeldBy is null ? $"/cars/{added.Value.Id}/holdings" : $"/cars/{added.Value.Id}");
    }

    private async Task<IReadOnlyList<InstructorCard>> ChoicesAsync(CancellationToken cancel)
    {
        var all = await instructors.ListAsync(alsoRetired: false, cancel);
        Instructors = [.. all.Select(i => new SelectListItem(i.Choice, i.Id.ToString()))];
        return all;
    }
}
