using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary;

[Needs(Permission.BookLessons)]
internal sealed class BookCheckModel(
    BookLesson book, SlotFinder slots, PupilLessons lessons, PupilBook pupils, InstructorBook instructors, PictureLoader pictures, SchoolInfo school,
    Viewer viewer, IClock clock) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public Guid? Pupil { get; set; }

    [BindProperty(SupportsGet = true)]
    public string? Start { get; set; }

    [BindProperty(SupportsGet = true)]
    public int? Minutes { get; set; }

    [BindProperty(SupportsGet = true)]
    public Guid? With { get; set; }

    public PupilCard For { get; private set; } = null!;

    public InstructorCard Teacher { get; private set; } = null!;

    public SchoolFacts School { get; private set; } = null!;

    public Interval During { get; private set; }

    public string Terms { get; private set; } = "";

    /// <summary>What it means for the instructor's day; for staff.</summary>
    public string? Reason { get; private set; }

    public OtherTimes? Others { get; private set; }

    public bool Staff => viewer.IsStaff;

    public string Back => $"/diary/book?{Whose}minutes={Minutes}&with={With}&from={During.Start.InZone(School.Zone).Date:uuuu-MM-dd}";

    private string Whose => Staff ? $"pupil={Pupil}&" : "";

    public async Task<IActionResult> OnGetAsync(CancellationToken cancel)
    {
        if (await ReadAsync(cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        if (await SameAsync(cancel) is { } id)
        {
            return Redirect(LessonLinks.Of(id));
        }

        var date = During.Start.InZone(School.Zone).Date;
        var question = new SlotQuestion(For.Id, date, date, Minutes);
        var verdict = await slots.CheckAsync(question, For, Teacher.Id, During.Start, viewer, cancel);
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

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (await ReadAsync(cancel) is { } elsewhere)
        {
            return elsewhere;
        }

        var booked = await book.RunAsync(new(For.Id, Teacher.Id, During.Start, Minutes!.Value), viewer, cancel);
        // Pressed twice, or sent again: the lesson is there already, and that is what was wanted.
        if ((booked.Ok ? booked.Value.Id : await SameAsync(cancel)) is { } id)
        {
            TempData["Done"] = $"Lesson booked: {School.When(During)}. The details are on their way to {For.Email}.";
            return Redirect(LessonLinks.Of(id));
        }

        if (booked.Refusal!.Kind == RefusalKind.NotFound)
        {
            return NotFound();
        }

        await RefuseAsync(booked.Refusal, cancel);
        return Page();
    }

    private Task<Guid?> SameAsync(CancellationToken cancel) =>
        lessons.AlreadyBookedAsync(For.Id, Teacher.Id, During.Start, Minutes!.Value, viewer, cancel);

    /// <summary>Reads what the address or the form says; an answer when it does not say enough, or speaks of somebody else.</summary>
    private async Task<IActionResult?> ReadAsync(CancellationToken cancel)
    {
        Pupil = viewer.PupilId ?? Pupil;
        if (Pupil is not { } pupilId || With is not { } instructorId || StartText.Read(Start) is not { } start
            || Minutes is < Lesson.ShortestMinutes or > Lesson.LongestMinutes)
        {
            return Redirect("/diary/book");
        }

        if (await pupils.FindAsync(pupilId, viewer, cancel) is not { } pupil
            || !viewer.MayBookWith(instructorId) || await instructors.FindAsync(instructorId, cancel) is not { } instructor)
        {
            return NotFound();
        }

        (For, Teacher, School) = (pupil, instructor, await school.GetAsync(cancel));
        Minutes ??= pupil.LessonMinutes;
        During = new(start, start + Duration.FromMinutes(Minutes.Value));
        Terms = LessonTerms.Sentence(start, await pictures.RulesAsync(cancel), School, clock.GetCurrentInstant());
        return null;
    }

    private async Task RefuseAsync(Refusal refusal, CancellationToken cancel)
    {
        ModelState.AddRefusal(refusal.To(viewer));
        var names = await instructors.NamesAsync(cancel);
        Others = new("Book", "/diary/book/check", [.. SlotRefusals.AlternativesOf(refusal).Select(o => new OtherTime(
            School.When(new(o.Start, o.End)),
            o.InstructorId == Teacher.Id ? null : names[o.InstructorId],
            new Dictionary<string, string>
            {
                ["pupil"] = $"{Pupil}",
                ["start"] = StartText.Of(o.Start),
                ["minutes"] = $"{Minutes}",
                ["with"] = $"{o.InstructorId}",
            }))]);
    }
}
