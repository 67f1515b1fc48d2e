using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>The pupil was not there: said once more with its consequence before it is written down.</summary>
[Needs(Permission.RecordLessons), ShowsWhatStands]
internal sealed class MissedModel(SchoolDb db, PupilBook pupils, OwnPupils own, SchoolInfo school, MissLesson miss, TellCharge tell, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty]
    public MissInput Input { get; set; } = new();

    public Lesson Lesson { get; private set; } = null!;

    public PupilCard Pupil { get; private set; } = null!;

    /// <summary>"Tuesday 3 March, 10:00 to 11:00".</summary>
    public string When { get; private set; } = "";

    /// <summary>What it comes to, unless the charge is let pass.</summary>
    public string? Charge { get; private set; }

    public bool TooEarly => Lesson.StartsAt > clock.GetCurrentInstant();

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (!await ReadAsync(id, cancel))
        {
            return NotFound();
        }

        Input.Version = Lesson.Version;
        await TellAsync(id, cancel);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(Guid id, CancellationToken cancel)
    {
        if (!await ReadAsync(id, cancel))
        {
            return NotFound();
        }

        if (ModelState.IsValid)
        {
            var outcome = await miss.RunAsync(viewer, id, new(Input.Note, Input.Waive, Input.Waive ? ChargeCode.Waived : ChargeCode.Missed), Input.Version, cancel);
            if (outcome.Ok || (outcome.Refusal.Kind is RefusalKind.Stale && Lesson.State is LessonState.Missed))
            {
                TempData["Done"] = $"Recorded: {Pupil.Name} was not there.";
                return LocalRedirect(LessonLinks.Day(Lesson.InstructorId, Lesson.StartsAt, (await school.GetAsync(cancel)).Zone, viewer));
            }

            this.AddRefusal(outcome.Refusal, outcome.Refusal.Fields.Count > 0 ? nameof(Input) : "");
            if (outcome.Refusal.Kind is RefusalKind.Stale)
            {
                ModelState.Remove("Input.Version");
                Input.Version = Lesson.Version;
            }
        }

        await TellAsync(id, cancel);
        return Page();
    }

    private async Task<bool> ReadAsync(Guid id, CancellationToken cancel)
    {
        if (await db.Set<Lesson>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(l => l.Id == id, cancel) is not { } lesson)
        {
            return false;
        }

        Lesson = lesson;
        Pupil = await own.OfAsync(viewer, lesson, (await pupils.CardsAsync([lesson.PupilId], cancel))[lesson.PupilId], cancel);
        When = (await school.GetAsync(cancel)).When(lesson.During);
        return true;
    }

    private async Task TellAsync(Guid id, CancellationToken cancel)
    {
        var told = (await tell.RunAsync(viewer, id, new(ChargeAct.Missed), cancel)).Value;
        Charge = told is null ? null : $"{told.Charge.Beforehand(viewer)} {told.Amount?.Sentence}".TrimEnd();
    }

    internal sealed class MissInput
    {
        public string? Note { get; set; }

        public bool Waive { get; set; }

        public int Version { get; set; }
    }
}
