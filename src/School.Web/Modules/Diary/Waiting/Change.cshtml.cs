using Microsoft.AspNetCore.Mvc;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>Changes what a pupil waits for: their own, or anybody's for staff.</summary>
[Needs(Permission.BookLessons), ShowsWhatStands]
internal sealed class ChangeModel(
    WaitingReader reader, ChangeWaiting change, PupilBook pupils, InstructorBook instructors, PictureLoader pictures, SchoolInfo school, Viewer viewer)
    : WaitingForm(instructors, pictures, viewer)
{
    private const string List = "/diary/waiting";

    /// <summary>The version that was looked at.</summary>
    [BindProperty]
    public int Version { get; set; }

    public WaitingEntry Entry { get; private set; } = null!;

    public PupilCard Pupil { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public bool Staff => Viewer.IsStaff;

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (await LoadAsync(id, cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        (For, With, From, To, Kind, Version) = (Entry.For, Entry.InstructorId, Entry.From, Entry.To, Entry.Kind, Entry.Version);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(Guid id, CancellationToken cancel)
    {
        if (await LoadAsync(id, cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        if (For is null)
        {
            ModelState.AddModelError(nameof(For), "Choose what is wanted.");
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var changed = await change.RunAsync(Viewer, id, Wish, Version, cancel);
        if (changed.Ok)
        {
            TempData["Done"] = $"Changed: {changed.Value.WantedInside(Rules)}. {(Staff ? "The" : "Your")} place on the list is the same.";
            return LocalRedirect(List);
        }

        this.AddRefusal(changed.Refusal);
        return Page();
    }

    private async Task<IActionResult?> LoadAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.EntryAsync(id, Viewer, cancel) is not { } entry)
        {
            return NotFound();
        }

        if (entry.State != WaitingState.Waiting)
        {
            TempData["Done"] = "This entry is no longer on the waiting list.";
            return LocalRedirect(List);
        }

        (Entry, School) = (entry, await school.GetAsync(cancel));
        Pupil = (await pupils.CardsAsync([entry.PupilId], cancel))[entry.PupilId];
        await LoadChoicesAsync(cancel, entry.Kind, Pupil);
        return null;
    }
}
