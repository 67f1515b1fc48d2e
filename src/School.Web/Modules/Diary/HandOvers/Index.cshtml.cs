using System.ComponentModel.DataAnnotations;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.HandOvers;

/// <summary>Asks to whom a pupil goes for good, and from when.</summary>
[Needs(Permission.ArrangeCover)]
internal sealed class IndexModel(PlanHandOver plan, PupilBook pupils, InstructorBook instructors, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Pupil { get; set; }

    [BindProperty]
    public AskInput Input { get; set; } = new();

    public string Name { get; private set; } = "";

    public string? Usual { get; private set; }

    public IReadOnlyList<SelectListItem> Teachers { get; private set; } = [];

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        Input.From = (await school.GetAsync(cancel)).Today(clock).PlusDays(1);
        return await ShowAsync(cancel);
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (ModelState.IsValid)
        {
            var made = await plan.RunAsync(viewer, Pupil, new(Input.InstructorId!.Value, Input.From!.Value), cancel);
            if (made.Ok)
            {
                return Redirect($"/diary/hand-overs/{made.Value.Id}");
            }

            if (made.Refusal.Kind is RefusalKind.NotFound)
            {
                return NotFound();
            }

            this.AddRefusal(made.Refusal, made.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        }

        else if (Input.From is { } from && HandOverDay.Wrong(from, (await school.GetAsync(cancel)).Today(clock)).ToRefusal() is { } wrong)
        {
            // With the instructor who was not chosen, so that it is one round.
            this.AddRefusal(wrong, nameof(Input));
        }

        return await ShowAsync(cancel);
    }

    private async Task<IActionResult> ShowAsync(CancellationToken cancel)
    {
        if (await pupils.FindAsync(Pupil, viewer, cancel) is not { } pupil)
        {
            return NotFound();
        }

        var names = await instructors.NamesAsync(cancel);
        (Name, Usual) = (pupil.Name, pupil.UsualInstructorId is { } id ? names.GetValueOrDefault(id) : null);
        Teachers = [.. (await instructors.ListAsync(alsoRetired: false, cancel)).Where(i => i.Id != pupil.UsualInstructorId).Select(i => new SelectListItem(i.Choice, i.Id.ToString()))];
        return Page();
    }

    internal sealed class AskInput
    {
        [Required(ErrorMessage = "Choose who teaches them from now on.")]
        public Guid? InstructorId { get; set; }

        [Required(ErrorMessage = "Enter from which day.")]
        public LocalDate? From { get; set; }
    }
}
