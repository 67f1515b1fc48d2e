using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Syllabus.Skills;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>What a lesson left behind: for the pupil the shared part and room for their own words, for staff all of it and how it stood before.</summary>
[Needs(Permission.SeeLearning)]
[OfPupil("id", Sight.ByReason, Lesson = true)]
internal sealed class DetailsModel(RecordReader reader, ReflectOnLesson reflect, RecordHistory history, SyllabusBook syllabus, Viewer viewer) : PageModel
{
    [BindProperty]
    public ReflectionInput Input { get; set; } = new();

    public RecordSheet Sheet { get; private set; } = null!;

    public bool Staff => viewer.Towards(Sheet.Lesson.PupilId).KeepsLearning;

    public bool OwnDiary => !Staff || viewer.KeepsDiary || viewer.InstructorId == Sheet.Lesson.InstructorId;

    public bool MayRecord => OwnDiary && viewer.Towards(Sheet.Lesson.PupilId).May(Permission.RecordLessons);

    /// <summary>How the record stood before, latest first.</summary>
    public IReadOnlyList<EarlierRecord> Before { get; private set; } = [];

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (!await LoadAsync(id, cancel))
        {
            return NotFound();
        }

        Input.Reflection = Sheet.Record?.Reflection;
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(Guid id, CancellationToken cancel)
    {
        if (!await LoadAsync(id, cancel))
        {
            return NotFound();
        }

        var outcome = await reflect.RunAsync(viewer, id, new(Input.Reflection), null, cancel);
        if (outcome.Ok)
        {
            TempData["Done"] = string.IsNullOrWhiteSpace(Input.Reflection)
                ? "Your words are taken off this lesson."
                : "Your words are kept. Your instructor reads them here and before your next lesson.";
            return LocalRedirect(LessonPages.Learned(id));
        }

        if (outcome.Refusal.Kind is RefusalKind.NotFound)
        {
            return NotFound();
        }

        this.AddRefusal(outcome.Refusal, outcome.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        return Page();
    }

    private async Task<bool> LoadAsync(Guid id, CancellationToken cancel)
    {
        if (await reader.FindToReadAsync(id, viewer, cancel) is not { } sheet)
        {
            return false;
        }

        Sheet = sheet;
        if (Staff)
        {
            var states = await history.ReadAsync(id, cancel);
            var earlier = new List<EarlierRecord>();
            foreach (var state in states.SkipLast(1).Reverse())
            {
                earlier.Add(EarlierRecord.Of(state, (await syllabus.FindAsync(state.Content.Edition, cancel))!));
            }

            Before = earlier;
        }

        return true;
    }

    internal sealed class ReflectionInput
    {
        public string? Reflection { get; set; }
    }
}

/// <summary>A record as it stood before, in lines that can be read.</summary>
internal sealed record EarlierRecord(Instant At, string By, IReadOnlyList<(string What, string Words)> Lines)
{
    public static EarlierRecord Of(RecordAsItStood state, SyllabusEdition edition)
    {
        var content = state.Content;
        var all = new (string What, string Words)[]
        {
            ("Minutes", $"{content.MinutesTaught}"),
            ("Skills", string.Join(", ", content.Levels.Select(level => $"{edition.Find(level.Skill)!.Name}: {level.Level}"))),
            ("For the pupil", content.Note),
            ("Aim", content.Aim),
            ("Private note", content.PrivateNote),
            ("Route", content.RouteKind is { } route ? route.Words() : ""),
            ("Miles", content.Miles?.ToString("0.#", System.Globalization.CultureInfo.InvariantCulture) ?? ""),
            ("Pupil’s words", content.Reflection),
        };
        return new(state.At, state.By, [.. all.Where(line => line.Words.Length > 0)]);
    }
}
