using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>The waiting list: a pupil's own entries, or the school's for staff; join and leave.</summary>
[Needs(Permission.BookLessons)]
internal sealed class WaitingModel(
    WaitingReader reader, JoinWaitingList join, LeaveWaitingList leave, PupilBook pupils, InstructorBook instructors, SchoolInfo school, Viewer viewer) : WaitingForm(instructors, viewer)
{
    private const int OffersShown = 12;

    [BindProperty(SupportsGet = true)]
    public Guid? Pupil { get; set; }

    public SchoolFacts School { get; private set; } = null!;

    public IReadOnlyList<WaitingEntry> Entries { get; private set; } = [];

    public IReadOnlyList<OfferedSlot> Offers { get; private set; } = [];

    public IReadOnlyDictionary<Guid, string> PupilNames { get; private set; } = new Dictionary<Guid, string>();

    public IReadOnlyDictionary<Guid, string> TeacherNames { get; private set; } = new Dictionary<Guid, string>();

    public IReadOnlyList<SelectListItem> Pupils { get; private set; } = [];

    public Task OnGetAsync(CancellationToken cancel) => LoadAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var pupil = Viewer.PupilId ?? Pupil;
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
            var joined = await join.RunAsync(Viewer, new(pupil!.Value, wish.For, wish.InstructorId, wish.From, wish.To), cancel);
            if (joined.Ok)
            {
                TempData["Done"] = Viewer.IsStaff ? "On the waiting list. The pupil is told by e-mail when a time comes free." : "You are on the waiting list. We e-mail you when a time comes free.";
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
        Entries = await reader.EntriesAsync(Viewer, cancel);
        Offers = Viewer.IsStaff ? await reader.OffersAsync(Viewer, OffersShown, cancel) : await reader.OpenOffersAsync(Viewer, cancel);
        TeacherNames = await Instructors.NamesAsync(cancel);
        await LoadTeachersAsync(cancel);
        PupilNames = (await pupils.CardsAsync(Entries.Select(e => e.PupilId).Concat(Offers.Select(o => o.PupilId)), cancel)).ToDictionary(p => p.Key, p => p.Value.Name);
        Pupils = Viewer.IsStaff ? [.. (await pupils.ListAsync(Viewer, cancel)).Select(p => new SelectListItem(p.Name, p.Id.ToString()))] : [];
    }
}
