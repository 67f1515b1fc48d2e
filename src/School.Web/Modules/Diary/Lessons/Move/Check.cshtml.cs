using Microsoft.AspNetCore.Mvc;
using NodaTime;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.Search.Book;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons.Move;

[Needs(Permission.BookLessons)]
internal sealed class CheckModel(
    MoveLesson move, TellCharge tell, SlotFinder slots, PupilLessons lessons, InstructorBook instructors, PictureLoader pictures, SchoolInfo school, Viewer viewer,
    IClock clock) : CheckPage(slots, instructors, pictures, school, viewer, clock)
{
    /// <summary>The version of the lesson that was looked at.</summary>
    [BindProperty]
    public int? Seen { get; set; }

    /// <summary>What moving it was said to come to.</summary>
    [BindProperty]
    public string? Charge { get; set; }

    [BindProperty]
    public bool Asked { get; set; }

    /// <summary>At the new time the pupil can no longer back out free of charge, as they can now.</summary>
    public bool MakesDearer => Staff && Rules.Charges().MakesDearer(Card.Lesson.StartsAt, Card.Lesson.Minutes, During.Start, Card.Lesson.Minutes, Now);

    public LessonCard Card { get; private set; } = null!;

    /// <summary>What moving it comes to, where that is not plainly nothing.</summary>
    public string? Late { get; private set; }

    public override string Here => $"{LessonLinks.Of(Card.Lesson.Id)}/move/check";

    public string Back => $"{LessonLinks.Of(Card.Lesson.Id)}/move?with={With}&from={Date:uuuu-MM-dd}";

    protected override string Act => "Move to";

    protected override IEnumerable<KeyValuePair<string, string>> MoreFields => [new("seen", $"{Card.Lesson.Version}"), new("charge", Charge ?? "")];

    private bool IsThere => Card.Lesson is { State: LessonState.Booked } lesson && lesson.StartsAt == During.Start && lesson.InstructorId == Teacher.Id;

    public async Task<IActionResult> OnGetAsync(Guid id, CancellationToken cancel)
    {
        if (await ReadAsync(id, cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        if (IsThere || !LessonTerms.Of(Card.Lesson, Rules, Viewer, Now).MayMove)
        {
            return Redirect(LessonLinks.Of(id) + (IsThere ? "" : "/move"));
        }

        await TellAsync(id, cancel);
        await JudgeAsync(SlotQuestion.ToMove(Card.Lesson, Date), Card.Pupil, cancel);
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

        var moved = await move.RunAsync(Viewer, id, new(During.Start, Teacher.Id, Charge: ChargeRules.Read(Charge), Asked: Asked), Seen, cancel);
        if (moved.Ok)
        {
            return Moved(id);
        }

        // Pressed twice at once: the other press has moved it to where this one wants it.
        Card = await lessons.FindAsync(id, Viewer, cancel) ?? Card;
        if (IsThere)
        {
            return Moved(id);
        }

        if (moved.Refusal.Kind == RefusalKind.NotFound)
        {
            return NotFound();
        }

        await TellAsync(id, cancel);
        if (moved.Refusal.Code == AskFirst.Code)
        {
            ModelState.AddModelError(nameof(Asked), moved.Refusal.For(Viewer));
            return Page();
        }

        await RefuseAsync(moved.Refusal, cancel);
        return Page();
    }

    private async Task TellAsync(Guid id, CancellationToken cancel)
    {
        ModelState.Remove(nameof(Charge));
        var charge = (await tell.RunAsync(Viewer, id, new(ChargeAct.Move), cancel)).Value?.Charge;
        (Charge, Late) = (charge?.Code.Word(), charge is { Code: ChargeCode.LateMove } ? charge.Beforehand(Viewer) : null);
    }

    private RedirectResult Moved(Guid id)
    {
        TempData["Done"] = $"Lesson moved to {School.When(During)}. {Words.OnTheWay("The new details are", Card.Pupil)}";
        return Redirect(Viewer.MayBookWith(Teacher.Id) ? LessonLinks.Of(id) : "/");
    }

    private async Task<IActionResult?> ReadAsync(Guid id, CancellationToken cancel)
    {
        if (await lessons.FindAsync(id, Viewer, cancel) is not { } card)
        {
            return NotFound();
        }

        if (!ModelState.IsValid || StartText.Read(Start) is not { } start)
        {
            return Redirect($"{LessonLinks.Of(id)}/move");
        }

        Card = card;
        With ??= card.Lesson.InstructorId;
        Seen ??= card.Lesson.Version;
        return await TakeTimeAsync(With.Value, start, card.Lesson.Minutes, cancel) ? null : NotFound();
    }
}
