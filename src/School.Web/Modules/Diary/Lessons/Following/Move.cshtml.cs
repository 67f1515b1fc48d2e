using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Contracts;
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

    /// <summary>Each lesson that was shown, by its id, and when it was to be then.</summary>
    [BindProperty(Name = "seen")]
    public Dictionary<Guid, string> Seen { get; set; } = [];

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

        var seen = Seen.Select(line => (line.Key, At: StartText.Read(line.Value))).Where(line => line.At is not null).ToDictionary(line => line.Key, line => line.At!.Value);
        var moved = await change.RunAsync(viewer, new(LessonId: id, Move: new(start, Only: Only)) { Seen = seen.Count > 0 ? seen : null }, cancel);
        // Pressed twice: the other press has moved just these.
        var all = moved.Ok ? moved.Value.Lessons : await MovedBeforeAsync(id, start, seen, cancel);
        if (all.Count > 0)
        {
            TempData["Done"] = $"{Words.Count(all.Count, "lesson")} moved, the first now {School.When(all[0].During)}. {Words.OnTheWay("The details are", Card.Pupil)}";
            return Redirect(LessonLinks.Of(id));
        }

        this.AddRefusal(moved.Refusal!);
        ModelState.Remove(nameof(Seen));
        await LookAsync(id, start, cancel);
        return Page();
    }

    /// <summary>The lessons that were ticked where every one of them is where it was to go, else none.</summary>
    private async Task<IReadOnlyList<Lesson>> MovedBeforeAsync(Guid id, Instant start, Dictionary<Guid, Instant> seen, CancellationToken cancel)
    {
        if (!seen.TryGetValue(id, out var first))
        {
            return [];
        }

        var found = new List<Lesson>();
        foreach (var one in Only.Distinct())
        {
            if (await lessons.FindAsync(one, viewer, cancel) is not { Lesson: { State: LessonState.Booked } lesson } || lesson.SeriesId != Card.Lesson.SeriesId
                || !seen.TryGetValue(one, out var then) || WeeklyStarts.Shifted(then, first, start, School.Zone).Start != lesson.StartsAt)
            {
                return [];
            }

            found.Add(lesson);
        }

        return [.. found.OrderBy(lesson => lesson.StartsAt)];
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
