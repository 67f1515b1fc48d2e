using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Diary.Weekly;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons.Following;

/// <summary>Moves a weekly lesson and those after it: a new day and time for the first, what becomes of each, then the button.</summary>
[Needs(Permission.BookLessons)]
internal sealed class MoveModel(MoveFollowing move, ChangeWeekly change, PupilLessons lessons, SchoolInfo school, Viewer viewer) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public LocalDate? First { get; set; }

    [BindProperty(SupportsGet = true)]
    public LocalTime? Time { get; set; }

    [BindProperty]
    public Guid[] Only { get; set; } = [];

    public LessonCard Card { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public Viewer Viewer => viewer;

    /// <summary>Null until a new time is given.</summary>
    public IReadOnlyList<FollowingMove>? Lines { get; private set; }

    public bool Ticked(FollowingMove line) => HttpMethods.IsGet(Request.Method) || Only.Contains(line.LessonId);

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (await ReadAsync(id, cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        if (Request.Query.ContainsKey(nameof(First)) && Start() is { } start)
        {
            await LookAsync(id, start, cancel);
        }

        var now = Card.Lesson.StartsAt.InZone(School.Zone);
        (First, Time) = (First ?? now.Date, Time ?? now.TimeOfDay);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(Guid id, CancellationToken cancel)
    {
        if (await ReadAsync(id, cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        if (Start() is not { } start)
        {
            return Page();
        }

        var moved = await change.RunAsync(viewer, new(LessonId: id, Move: new(start, Only: Only)), cancel);
        if (moved.Ok)
        {
            var all = moved.Value.Lessons;
            TempData["Done"] = $"{Words.Count(all.Count, "lesson")} moved, the first now {School.When(all[0].During)}. The details are on their way to {Card.Pupil.Email}.";
            return Redirect(LessonLinks.Of(id));
        }

        this.AddRefusal(moved.Refusal);
        await LookAsync(id, start, cancel);
        return Page();
    }

    private async Task LookAsync(Guid id, Instant start, CancellationToken cancel)
    {
        var found = await move.PreviewAsync(id, new(start), viewer, cancel);
        if (found.Ok)
        {
            Lines = found.Value;
        }
        else
        {
            this.AddRefusal(found.Refusal);
        }
    }

    private Instant? Start()
    {
        if (!ModelState.IsValid)
        {
            return null;
        }

        var errors = new FieldErrors()
            .When(First is null, nameof(First), "Enter the new day of the first of them.")
            .When(Time is null, nameof(Time), "Enter the new time.")
            .WrongYear(nameof(First), First);
        var start = errors.Any ? default : errors.ReadStart(nameof(Time), First!.Value + Time!.Value, School.Zone);
        if (errors.ToRefusal() is { } refusal)
        {
            this.AddRefusal(refusal);
            return null;
        }

        return start;
    }

    private async Task<IActionResult?> ReadAsync(Guid id, CancellationToken cancel)
    {
        if (await lessons.FindAsync(id, viewer, cancel) is not { } card)
        {
            return NotFound();
        }

        (Card, School) = (card, await school.GetAsync(cancel));
        return card.Lesson.SeriesId is null ? Redirect($"{LessonLinks.Of(id)}/move") : null;
    }
}
