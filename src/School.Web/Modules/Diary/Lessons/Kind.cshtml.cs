using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Staff make a booked lesson another kind, or longer or shorter, at its own time.</summary>
[Needs(Permission.RecordLessons)]
internal sealed class KindModel(ChangeLessonKind change, PupilLessons lessons, PictureLoader pictures, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    [BindProperty]
    public LessonKind? Kind { get; set; }

    [BindProperty]
    public int? Minutes { get; set; }

    [BindProperty]
    public bool Asked { get; set; }

    /// <summary>Until when the pupil could back out free of charge, where that is over: a longer lesson costs them more then.</summary>
    public Instant? FreeUntil { get; private set; }

    public LessonCard Card { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public IReadOnlyList<SelectListItem> Kinds { get; private set; } = [];

    /// <summary>Why there is nothing to change.</summary>
    public string? Closed { get; private set; }

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (!await LoadAsync(id, cancel))
        {
            return NotFound();
        }

        Kind = Card.Lesson.Kind;
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(Guid id, int? seen, CancellationToken cancel)
    {
        if (!await LoadAsync(id, cancel))
        {
            return NotFound();
        }

        if (Kind is null && ModelState.IsValid)
        {
            ModelState.AddModelError(nameof(Kind), "Choose a kind of lesson.");
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var changed = await change.RunAsync(viewer, id, new(Kind!.Value, Minutes, Asked), seen, cancel);
        if (changed.Ok)
        {
            var rules = await pictures.RulesAsync(cancel);
            TempData["Done"] = $"{rules.KindOf(changed.Value.Kind).Name}, {School.When(changed.Value.During)}. {Words.OnTheWay("The details are", Card.Pupil)}";
            return Redirect(LessonLinks.Of(id));
        }

        if (changed.Refusal.Code == AskFirst.Code)
        {
            ModelState.AddModelError(nameof(Asked), changed.Refusal.For(viewer));
        }
        else
        {
            this.AddRefusal(changed.Refusal);
        }

        return Page();
    }

    private async Task<bool> LoadAsync(Guid id, CancellationToken cancel)
    {
        if (!viewer.IsStaff || await lessons.FindAsync(id, viewer, cancel) is not { } card)
        {
            return false;
        }

        (Card, School) = (card, await school.GetAsync(cancel));
        var rules = await pictures.RulesAsync(cancel);
        Kinds = KindWords.Choices(rules, viewer, card.Lesson.Kind);
        Closed = change.NotNow(card.Lesson)?.For(viewer);
        FreeUntil = LessonTerms.Of(card.Lesson, rules, viewer, clock.GetCurrentInstant()) is { FreeNow: false } terms ? terms.FreeUntil : null;
        return true;
    }
}
