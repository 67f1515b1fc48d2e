using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People.Hats;

/// <summary>Which hats somebody wears.</summary>
[Needs(Permission.GiveHats)]
internal sealed class DetailsModel(SchoolDb db, ChangeHats change, InstructorBook instructors, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    /// <summary>The version of the hats that was looked at.</summary>
    [BindProperty]
    public int Version { get; set; }

    [BindProperty]
    public PartsForm Parts { get; set; } = new();

    [BindProperty]
    public Guid? InstructorId { get; set; }

    /// <summary>Unticked, they learn here no more.</summary>
    [BindProperty]
    public bool StaysPupil { get; set; }

    /// <summary>Unticked, they stand beside nobody with this sign-in any more.</summary>
    [BindProperty]
    public bool StaysBeside { get; set; }

    public string Name { get; private set; } = "";

    public bool Closed { get; private set; }

    public bool Learns { get; private set; }

    public bool Beside { get; private set; }

    public string SignInSentence { get; private set; } = "";

    public IReadOnlyList<SelectListItem> Instructors { get; private set; } = [];

    public Task<IActionResult> OnGetAsync(CancellationToken cancel) => ShowAsync(fill: true, cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (await PersonAsync(cancel) is not { } person)
        {
            return NotFound();
        }

        if (ModelState.IsValid)
        {
            var changed = await change.RunAsync(viewer, Id, new(Parts.ToList(), InstructorId, StaysPupil ? person.PupilId : null, StaysBeside ? person.ContactId : null), Version, cancel);
            if (changed.Ok)
            {
                TempData["Done"] = $"Kept: {person.Name} {WornHats.Of(changed.Value).Words}";
                // Whoever took the part from themselves has no way back here.
                return LocalRedirect(changed.Value.Id == viewer.PersonId && !changed.Value.Parts.Holds(OfficePart.Settings) ? "/" : $"/people/hats/{Id}");
            }

            this.AddRefusal(changed.Refusal);
        }

        return await ShowAsync(fill: false, cancel);
    }

    private Task<Person?> PersonAsync(CancellationToken cancel) => db.Set<Person>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == Id, cancel);

    private async Task<IActionResult> ShowAsync(bool fill, CancellationToken cancel)
    {
        if (await PersonAsync(cancel) is not { } person)
        {
            return NotFound();
        }

        (Name, Closed, Learns, Beside) = (person.Name, person.Closed, person.PupilId is not null, person.ContactId is not null);
        var card = SignIns.Card(person);
        SignInSentence = card.State switch
        {
            SignInState.SignsIn => $"Signs in as {card.Name}.",
            SignInState.Invited or SignInState.NotInvited => $"Invited at {card.Email}; no password chosen yet.",
            SignInState.Closed => "Cannot sign in.",
        };
        if (fill)
        {
            (Version, Parts, InstructorId, StaysPupil, StaysBeside) = (person.HatsVersion, PartsForm.Of(person.Parts), person.InstructorId, Learns, Beside);
        }

        var taken = await db.Set<Person>().Where(p => p.InstructorId != null && p.Id != Id).Select(p => p.InstructorId!.Value).ToListAsync(cancel);
        Instructors = [.. (await instructors.ListAsync(alsoRetired: false, cancel)).Where(i => !taken.Contains(i.Id)).Select(i => new SelectListItem(i.Name, i.Id.ToString()))];
        return Page();
    }
}
