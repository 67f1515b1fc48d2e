using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;
using School.Web.Platform.Offline;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>What was taught, once parked; later, what was written is put right here too.</summary>
[Needs(Permission.RecordLessons), KeptOffline]
[OfPupil("id", Sight.ByReason, Given = true)]
internal sealed class RecordModel(RecordReader reader, RecordLesson record, LessonRecording lessons, PupilBook pupils, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty]
    public RecordInput Input { get; set; } = new();

    public RecordSheet Sheet { get; private set; } = null!;

    /// <summary>Why there is nothing to record; null when there is.</summary>
    public string? NotNow { get; private set; }

    public bool Again => Sheet.Lesson.State is LessonState.Taught or LessonState.Missed;

    /// <summary>What is on record now, for somebody who was about to record it too.</summary>
    public string Stands => Sheet.Lesson.State switch
    {
        LessonState.Taught => $"Recorded as taught, {ScreenWords.Length(Sheet.Lesson.MinutesTaught!.Value)}.",
        LessonState.Missed => "Recorded as missed.",
        _ => "Not recorded yet.",
    };

    /// <summary>The few skills that this lesson was most likely about.</summary>
    public IReadOnlyList<SkillRow> Likely { get; private set; } = [];

    /// <summary>All the others, by group.</summary>
    public IReadOnlyList<(string Group, IReadOnlyList<SkillRow> Rows)> Others { get; private set; } = [];

    public static IReadOnlyList<SelectListItem> Routes { get; } = [.. Enum.GetValues<RouteKind>().Select(kind => new SelectListItem(kind.Words(), kind.ToString()))];

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (!await LoadAsync(id, cancel))
        {
            return NotFound();
        }

        Input = RecordInput.Of(Sheet);
        Lay();
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(Guid id, CancellationToken cancel)
    {
        if (!await LoadAsync(id, cancel))
        {
            return NotFound();
        }

        Lay();
        if (!ModelState.IsValid)
        {
            return Page();
        }

        var first = !Again;
        var outcome = await record.RunAsync(viewer, id, Input.ToRequest(), Input.Version, cancel);
        if (outcome.Ok)
        {
            TempData["Done"] = $"Recorded: {Sheet.Pupil.Name}, {ScreenWords.Length(Input.MinutesTaught)} taught. The pupil can read it now. {await NextStopAsync(cancel)}".TrimEnd();
            return LocalRedirect(first ? LessonPages.Next(id) : Sheet.Lesson.DayAddress(Sheet.School.Zone, viewer));
        }

        this.AddRefusal(outcome.Refusal, outcome.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        if (outcome.Refusal.Kind is RefusalKind.Stale)
        {
            // The page now shows what stands; sending again is knowing.
            ModelState.Remove("Input.Version");
            Input.Version = Sheet.Lesson.Version;
        }

        return Page();
    }

    private async Task<string> NextStopAsync(CancellationToken cancel)
    {
        var zone = Sheet.School.Zone;
        var endOfDay = zone.AtStartOfDay(Sheet.Lesson.StartsAt.InZone(zone).Date.PlusDays(1)).ToInstant();
        if (Sheet.Lesson.EndsAt < clock.GetCurrentInstant() - Duration.FromHours(12) || await lessons.NextAsync(Sheet.Lesson, endOfDay, cancel) is not { } next)
        {
            return "";
        }

        var name = (await pupils.CardsAsync([next.PupilId], cancel))[next.PupilId].Name;
        return $"Next: {name} at {Sheet.School.Time(next.StartsAt)}, {next.PickUp.Label}.";
    }

    private async Task<bool> LoadAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindAsync(id, viewer, cancel) is not { } sheet)
        {
            return false;
        }

        Sheet = sheet;
        NotNow = sheet.Lesson.State is LessonState.Cancelled ? "This lesson was cancelled, so there is nothing to record."
            : sheet.Lesson.StartsAt > clock.GetCurrentInstant() && !Request.IsForLater() ? "This lesson has not begun yet. Come back once you are parked at its end."
            : null;
        return true;
    }

    /// <summary>What the record has already, what was worked on last time and what the plan suggests stand first; the rest stand in their groups.</summary>
    private void Lay()
    {
        var last = Sheet.Plan.Last?.Record?.Levels.Select(level => level.Skill) ?? [];
        var likely = (Sheet.Record?.Levels.Select(level => level.Skill) ?? []).Concat(last).Concat(Sheet.Plan.Suggested.Select(planned => planned.Skill.Key))
            .Concat(Input.Levels.Where(level => level.Value is not null).Select(level => level.Key)).ToHashSet(StringComparer.Ordinal);
        Likely = [.. Sheet.Edition.Skills.Where(skill => likely.Contains(skill.Key)).Select(Row)];
        Others = [.. Sheet.Edition.Groups.Select(group => (group.Name, Rows: (IReadOnlyList<SkillRow>)[.. group.Skills.Where(skill => !likely.Contains(skill.Key)).Select(Row)]))
            .Where(group => group.Rows.Count > 0)];
    }

    private SkillRow Row(Skill skill) =>
        new($"Input.Levels[{skill.Key}]", $"level-{skill.Key}", skill.Name, Sheet.Plan.LevelOf(skill.Key), Input.Levels.GetValueOrDefault(skill.Key));
}

/// <summary>One skill on the form: the level the pupil had before, and the one chosen; null for not covered.</summary>
internal sealed record SkillRow(string Field, string Id, string Name, SkillLevel? Before, SkillLevel? Chosen);

internal sealed class RecordInput
{
    public int MinutesTaught { get; set; }

    public Dictionary<string, SkillLevel?> Levels { get; set; } = [];

    public string? Note { get; set; }

    public string? Aim { get; set; }

    public string? PrivateNote { get; set; }

    public RouteKind? RouteKind { get; set; }

    public decimal? Miles { get; set; }

    public int Version { get; set; }

    public static RecordInput Of(RecordSheet sheet) => new()
    {
        MinutesTaught = sheet.Lesson.MinutesTaught ?? sheet.Lesson.Minutes,
        Note = sheet.Lesson.Note,
        Levels = sheet.Levels.ToDictionary(line => line.Skill, line => (SkillLevel?)line.Level),
        Aim = sheet.Record?.Aim,
        PrivateNote = sheet.Record?.PrivateNote,
        RouteKind = sheet.Record?.Route,
        Miles = sheet.Record?.Miles,
        Version = sheet.Lesson.Version,
    };

    public RecordRequest ToRequest() => new(
        MinutesTaught, Note, [.. Levels.Where(level => level.Value is not null).Select(level => new LevelRequest(level.Key, level.Value!.Value))],
        Aim, PrivateNote, RouteKind, Miles);
}
