using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using NodaTime.Text;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Day;

/// <summary>Shows what running late does to the rest of today and, on confirmation, tells the pupils.</summary>
[Needs(Permission.DriveTheDay)]
internal sealed class RunningLateModel(DayReader reader, TellLate tell, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    private InstructorCard instructor = null!;

    /// <summary>What the day page offers by one tap.</summary>
    public static IReadOnlyList<int> Taps { get; } = [10, 20, 30];

    public static IReadOnlyList<int> Choices { get; } = [5, .. Taps, 45, 60];

    /// <summary>The lesson that is on by the clock has not begun.</summary>
    [BindProperty(SupportsGet = true)]
    public bool NotBegun { get; set; }

    /// <summary>The lesson whose pupil was told that it starts later has begun all the same.</summary>
    [BindProperty(SupportsGet = true)]
    public bool Begun { get; set; }

    [BindProperty(SupportsGet = true)]
    public Guid? InstructorId { get; set; }

    [BindProperty(SupportsGet = true)]
    public int? Minutes { get; set; }

    [BindProperty]
    public string? At { get; set; }

    public LateAnswer? Answer { get; private set; }

    public string? Whose { get; private set; }

    public string AtText => InstantPattern.General.Format(Answer!.At);

    public string Back => $"/diary/day{(Whose is null ? "" : $"?instructorId={instructor.Id}")}";

    public string Tell => Answer!.ToTell.Where(late => late.HasAddress).ToList() switch
    {
        [] => "Keep it with the lesson",
        [var one] => $"Tell {one.Pupil.Name}",
        var several => $"Tell {several.Count} pupils",
    };

    /// <summary>Whose lesson, as the pupil was told, has not begun although its time has come.</summary>
    public LateLesson? Waits => Answer is { On: null, Lessons: [{ ToldMinutes: > 0 } first, ..] } && first.Lesson.StartsAt <= Answer.At && !NotBegun ? first : null;

    /// <summary>"Wren Castellan starts 12 minutes late. From Marlo Fenn at 15:45 on you are on time again."</summary>
    public string Summary
    {
        get
        {
            var late = Answer!.Lessons.Where(l => l.LateMinutes > 0).ToList();
            var onTime = Answer.Lessons.FirstOrDefault(l => l.LateMinutes == 0);
            return late.Count == 0 ? "There is time enough to spare: every lesson still starts on time."
                : onTime is null ? $"{Starting(late.Count)} late."
                : $"{Starting(late.Count)} late. From {onTime.Pupil.Name} at {Answer.School.Time(onTime.Lesson.StartsAt)} on, the day is on time again.";
        }
    }

    /// <summary>What the minutes count from.</summary>
    public string CountsFrom => Answer switch
    {
        null => "",
        { On.Pupil: { } pupil } => $"Counted from the end of {pupil.Name}’s lesson, which is on.",
        { On: not null } => "Counted from the end of what is on.",
        { Lessons: [var first, ..] } => $"Nothing is on, so {first.Pupil.Name} is the one who waits: counted from {Answer!.School.Time(first.Lesson.StartsAt)}.",
        _ => "",
    };

    public string Address(int? minutes) => Address(minutes, NotBegun, Begun);

    public string Address(int? minutes, bool notBegun, bool begun) =>
        $"/diary/running-late?{string.Join('&', new[] { minutes is null ? "" : $"minutes={minutes}", notBegun ? "notBegun=true" : "", begun ? "begun=true" : "", Whose is null ? "" : $"instructorId={instructor.Id}" }.Where(part => part.Length > 0))}";

    private static string Starting(int lessons) => lessons == 1 ? "1 lesson starts" : $"{lessons} lessons start";

    public static string HowLate(LateLesson late) =>
        late.HasAddress || (late.LateMinutes == 0 && !late.IsNews) ? Told(late)
            : $"{(late.LateMinutes == 0 ? "on time after all" : Words.Count(late.LateMinutes, "minute"))}; not told: no e-mail address, ring them";

    private static string Told(LateLesson late) => (late.LateMinutes, late.IsNews, late.ToldMinutes) switch
    {
        (0, true, _) => "on time after all",
        (0, false, _) => "on time",
        (var minutes, true, { } told and > 0) => $"{Words.Count(minutes, "minute")}, told {told}",
        (var minutes, true, _) => Words.Count(minutes, "minute"),
        var (minutes, _, _) => $"{Words.Count(minutes, "minute")}, told already",
    };

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel) => await LoadAsync(cancel) ?? await ShowAsync(cancel);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (await LoadAsync(cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        if (Minutes is not { } minutes || InstantPattern.General.Parse(At ?? "") is not { Success: true, Value: var at })
        {
            return await ShowAsync(cancel);
        }

        var told = await tell.RunAsync(viewer, await QuestionAsync(minutes, at, cancel), cancel);
        if (!told.Ok)
        {
            this.AddRefusal(told.Refusal);
            return await ShowAsync(cancel);
        }

        var names = told.Value.ToTell.ToLookup(late => late.HasAddress, late => late.Pupil.Name);
        TempData["Done"] = told.Value.ToTell.Count == 0 ? "They have been told already." : string.Join(' ', new[]
        {
            names[true].Any() ? $"Told by e-mail: {string.Join(", ", names[true])}." : "",
            names[false].Any() ? $"Not told: no e-mail address, ring them: {string.Join(", ", names[false])}." : "",
        }.Where(sentence => sentence.Length > 0));
        return LocalRedirect(Back);
    }

    private async Task<IActionResult> ShowAsync(CancellationToken cancel)
    {
        if (Minutes is { } minutes)
        {
            var answer = await tell.PreviewAsync(viewer, await QuestionAsync(minutes, null, cancel), cancel);
            if (answer.Ok)
            {
                Answer = answer.Value;
            }
            else
            {
                ModelState.AddModelError("", answer.Refusal.For(Viewer.From(User)));
            }
        }

        return Page();
    }

    private async Task<LateQuestion> QuestionAsync(int minutes, Instant? at, CancellationToken cancel) =>
        new(instructor.Id, (await school.GetAsync(cancel)).Today(clock), minutes, at, NotBegun, Begun);

    private async Task<IActionResult?> LoadAsync(CancellationToken cancel)
    {
        if (InstructorId is null && viewer.InstructorId is null)
        {
            return Redirect("/diary/board");
        }

        if (await reader.WhoseAsync(InstructorId, cancel) is not { } whose)
        {
            return NotFound();
        }

        instructor = whose;
        Whose = viewer.InstructorId == whose.Id ? null : whose.Name;
        return null;
    }
}
