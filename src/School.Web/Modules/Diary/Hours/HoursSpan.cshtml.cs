using System.ComponentModel.DataAnnotations;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Day;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Hours;

/// <summary>Adds working hours on one weekday or several, or changes, ends or removes one span.</summary>
[Needs(Permission.ChangeHours)]
internal sealed class HoursSpanModel(SchoolDb db, DayReader reader, AddHours add, ChangeHours change, RemoveHours remove, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    private const int UsualDays = 5;
    private static readonly LocalTime UsualStart = new(9, 0);
    private static readonly LocalTime UsualEnd = new(17, 0);

    [BindProperty(SupportsGet = true)]
    public Guid? InstructorId { get; set; }

    [BindProperty(SupportsGet = true)]
    public Guid? Id { get; set; }

    [BindProperty]
    public SpanInput Input { get; set; } = new();

    public InstructorCard Instructor { get; private set; } = null!;

    public static IEnumerable<IsoDayOfWeek> Weekdays => Enum.GetValues<IsoDayOfWeek>().Where(day => day != IsoDayOfWeek.None);

    public string Back => viewer.InstructorId == Instructor.Id ? "/diary/hours" : $"/diary/hours?instructorId={Instructor.Id}";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (!await LoadAsync(cancel))
        {
            return NotFound();
        }

        if (Id is null)
        {
            Input.From = (await school.GetAsync(cancel)).Today(clock);
            if (!await db.Set<WorkingHoursRow>().AnyAsync(h => h.InstructorId == Instructor.Id, cancel))
            {
                // An ordinary week to begin from; common practice, no source.
                (Input.Days, Input.Start, Input.End) = ([.. Weekdays.Take(UsualDays)], UsualStart, UsualEnd);
            }

            return Page();
        }

        if (await db.Set<WorkingHoursRow>().AsNoTracking().SingleOrDefaultAsync(h => h.Id == Id && h.InstructorId == Instructor.Id, cancel) is not { } row)
        {
            return NotFound();
        }

        Input = new() { Days = [row.Day], Start = row.Start, End = row.End, From = row.From, To = row.To, Version = row.Version };
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (!await LoadAsync(cancel))
        {
            return NotFound();
        }

        if (Input.Days.Count == 0)
        {
            ModelState.AddModelError("Input.Days", Id is null ? "Choose at least one day." : "Choose a day.");
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var outcome = Id is { } id
            ? await change.RunAsync(viewer, Instructor.Id, id, On(Input.Days[0]), Input.Version, cancel)
            : await add.RunAsync(viewer, Instructor.Id, new(Input.Days, Input.Start!.Value, Input.End!.Value, Input.From!.Value, Input.To), cancel);
        return outcome.Ok ? Done("Working hours saved.", outcome.Value) : Refuse(outcome.Refusal);
    }

    public async Task<IActionResult> OnPostRemoveAsync(CancellationToken cancel)
    {
        ModelState.Clear();
        if (!await LoadAsync(cancel) || Id is not { } id)
        {
            return NotFound();
        }

        var outcome = await remove.RunAsync(viewer, Instructor.Id, id, cancel);
        return outcome.Ok ? Done("Working hours removed.", outcome.Value) : NotFound();
    }

    private HoursRequest On(IsoDayOfWeek day) => new(day, Input.Start!.Value, Input.End!.Value, Input.From!.Value, Input.To);

    private LocalRedirectResult Done(string words, HoursChanged changed)
    {
        TempData["Done"] = changed.Affected.Count == 0 ? words : $"{words} {Words.Count(changed.Affected.Count, "booked lesson")} now outside them: see the list.";
        return LocalRedirect(Back);
    }

    private PageResult Refuse(Refusal refusal)
    {
        this.AddRefusal(refusal, refusal.Fields.Count > 0 ? nameof(Input) : "");
        return Page();
    }

    private async Task<bool> LoadAsync(CancellationToken cancel)
    {
        if (await reader.WhoseAsync(InstructorId, cancel) is not { } instructor)
        {
            return false;
        }

        Instructor = instructor;
        return true;
    }

    internal sealed class SpanInput
    {
        public List<IsoDayOfWeek> Days { get; set; } = [];

        [Required(ErrorMessage = "Enter a start time.")]
        public LocalTime? Start { get; set; }

        [Required(ErrorMessage = "Enter an end time.")]
        public LocalTime? End { get; set; }

        [Required(ErrorMessage = "Enter the first date.")]
        public LocalDate? From { get; set; }

        public LocalDate? To { get; set; }

        public int Version { get; set; }
    }
}
