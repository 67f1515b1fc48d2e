using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.Rendering;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Syllabus.Mocks;

/// <summary>Begins a mock test of a pupil: with a lesson that has begun, or by itself.</summary>
[Needs(Permission.RecordLessons)]
[OfPupil("pupil", Sight.Everything)]
internal sealed class NewModel(AddMockTest add, DeviceRule device, PupilBook pupils, LessonBook lessons, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    private const int LessonsShown = 8;

    [BindProperty(SupportsGet = true)]
    public Guid? Pupil { get; set; }

    [BindProperty]
    public Guid? LessonId { get; set; }

    [BindProperty]
    public LocalDate? On { get; set; }

    [BindProperty]
    public bool NotSupervising { get; set; }

    /// <summary>Whether a lesson is on.</summary>
    public bool LessonRuns { get; private set; }

    public PupilCard Card { get; private set; } = null!;

    public IReadOnlyList<SelectListItem> Lessons { get; private set; } = [];

    public async Task<IActionResult> OnGetAsync(Guid? lesson, CancellationToken cancel)
    {
        if (Pupil is null)
        {
            return Redirect("/pupils");
        }

        On = (await school.GetAsync(cancel)).Today(clock);
        return await ShowAsync(lesson, cancel);
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        if (Pupil is not { } pupil)
        {
            return NotFound();
        }

        if (ModelState.IsValid)
        {
            var made = await add.RunAsync(viewer, pupil, new(LessonId is null ? On : null, LessonId, NotSupervising: NotSupervising), cancel);
            if (made.Ok)
            {
                return LocalRedirect(MockWords.Address(made.Value.Id));
            }

            this.AddRefusal(made.Refusal);
        }

        return await ShowAsync(LessonId, cancel);
    }

    private async Task<IActionResult> ShowAsync(Guid? lesson, CancellationToken cancel)
    {
        if (await pupils.FindAsync(Pupil!.Value, viewer, cancel) is not { } card)
        {
            return NotFound();
        }

        (Card, LessonRuns) = (card, await device.MustBeSaidAsync(viewer, card.Id, cancel));
        var (facts, now) = (await school.GetAsync(cancel), clock.GetCurrentInstant());
        var begun = (await lessons.OfPupilAsync(card.Id, LessonsShown, viewer, cancel)).Where(l => l.StartsAt <= now).Reverse().ToList();
        Lessons = [.. begun.Select(l => new SelectListItem($"{Moment(l.StartsAt, facts)}, {l.State}", l.Id.ToString()))];
        LessonId = begun.Find(l => l.Id == lesson)?.Id;
        return Page();
    }

    private static string Moment(Instant start, SchoolFacts facts)
    {
        var local = start.InZone(facts.Zone);
        return $"{ScreenWords.Day(local.Date)}, {ScreenWords.Time(local.TimeOfDay, facts.TwelveHourClock)}";
    }
}
