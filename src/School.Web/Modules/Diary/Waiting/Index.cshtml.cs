using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>The waiting list: a pupil's own entries, or the school's for staff; join and leave.</summary>
[Needs(Permission.BookLessons)]
internal sealed class WaitingModel(
    WaitingReader reader, JoinWaitingList join, LeaveWaitingList leave, PupilBook pupils, InstructorBook instructors, PictureLoader pictures, SchoolInfo school, Viewer viewer)
    : WaitingForm(instructors, pictures, viewer)
{
    private const int OffersShown = 12;
    private const int PerPart = 50;

    [BindProperty(SupportsGet = true)]
    public Guid? Pupil { get; set; }

    /// <summary>Which part of the list, from 1.</summary>
    [BindProperty(SupportsGet = true)]
    public int Part { get; set; } = 1;

    public Pager Pager { get; private set; } = new("Parts of the list", null, null, null);

    public SchoolFacts School { get; private set; } = null!;

    public IReadOnlyList<WaitingEntry> Entries { get; private set; } = [];

    public IReadOnlyList<OfferedSlot> Offers { get; private set; } = [];

    public IReadOnlyDictionary<Guid, string> PupilNames { get; private set; } = new Dictionary<Guid, string>();

    public IReadOnlyDictionary<Guid, string> TeacherNames { get; private set; } = new Dictionary<Guid, string>();

    public IReadOnlyList<SelectListItem> Pupils { get; private set; } = [];

    public Task OnGetAsync(CancellationToken cancel) => LoadAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var pupil = Pupil ?? Viewer.PupilId;
        var errors = new FieldErrors()
            .When(pupil is null, nameof(Pupil), "Choose a pupil.")
            .When(For is null, nameof(For), "Choose what is wanted.");
        if (errors.ToRefusal() is { } wrong)
        {
            this.AddRefusal(wrong);
        }

        if (ModelState.IsValid)
        {
            var wish = Wish;
            var joined = await join.RunAsync(Viewer, new(pupil!.Value, wish.For, wish.InstructorId, wish.From, wish.To, wish.Kind), cancel);
            if (joined.Ok)
            {
                TempData["Done"] = Viewer.Towards(pupil!.Value).IsStaff ? "On the waiting list. The pupil is told by e-mail when a time comes free." : "You are on the waiting list. We e-mail you when a time comes free.";
                return LocalRedirect("/diary/waiting");
            }

            if (joined.Refusal.Kind == RefusalKind.NotFound)
            {
                return NotFound();
            }

            this.AddRefusal(joined.Refusal);
        }

        await LoadAsync(cancel);
        return Page();
    }

    public async Task<IActionResult> OnPostLeaveAsync(Guid entry, CancellationToken cancel)
    {
        var left = await leave.RunAsync(Viewer, entry, cancel);
        if (!left.Ok && left.Refusal.Kind == RefusalKind.NotFound)
        {
            return NotFound();
        }

        TempData["Done"] = left.Ok ? "Taken off the waiting list." : left.Refusal.For(Viewer);
        return LocalRedirect("/diary/waiting");
    }

    private async Task LoadAsync(CancellationToken cancel)
    {
        School = await school.GetAsync(cancel);
        Part = Math.Clamp(Part, 1, 1000);
        var found = await reader.EntriesAsync(Viewer, (Part - 1) * PerPart, PerPart + 1, cancel);
        Entries = [.. found.Take(PerPart)];
        Pager = Pager.OfParts("Parts of the list", Part, found.Count > PerPart, part => $"/diary/waiting?part={part}");
        Offers = Viewer.ArrangesLessons ? await reader.OffersAsync(Viewer, OffersShown, cancel) : await reader.OpenOffersAsync(Viewer, cancel);
        TeacherNames = await Instructors.NamesAsync(cancel);
        // Whoever waits for themselves is offered those who teach in their kind of car; the office chooses the pupil on the page.
        var cards = await pupils.CardsAsync(Entries.Select(e => e.PupilId).Concat(Offers.Select(o => o.PupilId)), cancel);
        await LoadChoicesAsync(cancel, pupil: Viewer is { ArrangesLessons: false, PupilId: { } me } ? cards.GetValueOrDefault(me) ?? await pupils.FindAsync(me, Viewer, cancel) : null);
        PupilNames = cards.ToDictionary(p => p.Key, p => p.Value.Name);
        Pupils = Viewer.ArrangesLessons ? [.. (await pupils.NamesAsync(Viewer, cancel)).Select(p => new SelectListItem(p.Name, p.Id.ToString()))] : [];
    }
}
