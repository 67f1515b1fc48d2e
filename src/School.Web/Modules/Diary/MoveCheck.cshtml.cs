using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary;

[Needs(Permission.BookLessons)]
internal sealed class MoveCheckModel(
    MoveLesson move, SlotFinder slots, PupilLessons lessons, InstructorBook instructors, PictureLoader pictures, SchoolInfo school, Viewer viewer,
    IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public string? Start { get; set; }

    [BindProperty(SupportsGet = true)]
    public Guid? With { get; set; }

    /// <summary>The version of the lesson that was looked at.</summary>
    [BindProperty]
    public int? Seen { get; set; }

    public LessonCard Card { get; private set; } = null!;

    public InstructorCard Teacher { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public Interval During { get; private set; }

    public string Terms { get; private set; } = "";

    /// <summary>What it means for the instructor's day; for staff.</summary>
    public string? Reason { get; private set; }

    public OtherTimes? Others { get; private set; }

    public bool Staff => viewer.IsStaff;

    public string Here => $"{LessonLinks.Of(Card.Lesson.Id)}/move/check";

    public string Back => $"{LessonLinks.Of(Card.Lesson.Id)}/move?with={With}&from={During.Start.InZone(School.Zone).Date:uuuu-MM-dd}";

    private bool IsThere => Card.Lesson is { State: LessonState.Booked } lesson && lesson.StartsAt == During.Start && lesson.InstructorId == Teacher.Id;

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (await ReadAsync(id, cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        var lesson = Card.Lesson;
        var mayMove = LessonTerms.Of(lesson, await pictures.RulesAsync(cancel), viewer, clock.GetCurrentInstant()).MayMove;
        if (IsThere || !mayMove)
        {
            return Redirect(LessonLinks.Of(id) + (IsThere ? "" : "/move"));
        }

        var date = During.Start.InZone(School.Zone).Date;
        var question = new SlotQuestion(lesson.PupilId, date, date, lesson.Minutes)
        {
            PickUp = lesson.PickUp,
            DropOff = lesson.DropOff,
            MovingLessonId = lesson.Id,
        };
        var verdict = await slots.CheckAsync(question, Card.Pupil, Teacher.Id, During.Start, viewer, cancel);
        if (verdict.Ok)
        {
            Reason = Staff ? verdict.Value.Reason : null;
        }
        else
        {
            await RefuseAsync(await slots.WithAlternativesAsync(verdict.Refusal, question, Teacher.Id, During.Start, viewer, cancel), cancel);
        }

        return Page();
    }

    public async Task<IActionResult> OnPostAsync(Guid id, CancellationToken cancel)
    {
        if (await ReadAsync(id, cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        if (IsThere)
        {
            return Moved(id);
        }

        var moved = await move.RunAsync(id, new(During.Start, Teacher.Id), Seen, viewer, cancel);
        if (moved.Ok)
        {
            return Moved(id);
        }

        // Pressed twice at once: the other press has moved it to where this one wants it.
        Card = await lessons.FindAsync(id, viewer, cancel) ?? Card;
        if (IsThere)
        {
            return Moved(id);
        }

        if (moved.Refusal.Kind == RefusalKind.NotFound)
        {
            return NotFound();
        }

        await RefuseAsync(moved.Refusal, cancel);
        return Page();
    }

    private RedirectResult Moved(Guid id)
    {
        TempData["Done"] = $"Lesson moved to {School.When(During)}. The new details are on their way to {Card.Pupil.Email}.";
        return Redirect(viewer.MayBookWith(Teacher.Id) ? LessonLinks.Of(id) : "/");
    }

    private async Task<IActionResult?> ReadAsync(Guid id, CancellationToken cancel)
    {
        if (await lessons.FindAsync(id, viewer, cancel) is not { } card)
        {
            return NotFound();
        }

        if (StartText.Read(Start) is not { } start)
        {
            return Redirect($"{LessonLinks.Of(id)}/move");
        }

        With ??= card.Lesson.InstructorId;
        if (!viewer.MayBookWith(With.Value) || await instructors.FindAsync(With.Value, cancel) is not { } instructor)
        {
            return NotFound();
        }

        (Card, Teacher, School) = (card, instructor, await school.GetAsync(cancel));
        Seen ??= card.Lesson.Version;
        During = new(start, start + Duration.FromMinutes(card.Lesson.Minutes));
        Terms = LessonTerms.Sentence(start, await pictures.RulesAsync(cancel), School, clock.GetCurrentInstant());
        return null;
    }

    private async Task RefuseAsync(Refusal refusal, CancellationToken cancel)
    {
        ModelState.AddRefusal(refusal.To(viewer));
        var names = await instructors.NamesAsync(cancel);
        Others = new("Move to", Here, [.. SlotRefusals.AlternativesOf(refusal).Select(o => new OtherTime(
            School.When(new(o.Start, o.End)),
            o.InstructorId == Teacher.Id ? null : names[o.InstructorId],
            new Dictionary<string, string> { ["start"] = StartText.Of(o.Start), ["with"] = $"{o.InstructorId}", ["seen"] = $"{Card.Lesson.Version}" }))]);
    }
}
