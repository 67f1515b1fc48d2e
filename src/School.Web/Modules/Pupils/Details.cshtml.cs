using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Pupils;

[Needs(Permission.SeePupils)]
[OfPupil("id", Sight.ByReason)]
internal sealed class DetailsModel(
    SchoolDb db, SchoolInfo school, InstructorBook instructors, IPupilDiary diary, SignIns signIns, PapersReader papers, OpenedBook opened, IPupilMoney money,
    MailWay mail, Viewer viewer, IClock clock) : PageModel
{
    private const int LessonsEachWay = 3;
    private const int OpenedShown = 5;

    [BindProperty(SupportsGet = true)]
    public Guid Id { get; set; }

    public Pupil Pupil { get; private set; } = null!;

    public string? Instructor { get; private set; }

    public IReadOnlyList<PaperItem> Papers { get; private set; } = [];

    /// <summary>The school gives intensive courses.</summary>
    public bool MayPlanCourse { get; private set; }

    /// <summary>The next few and the last few, in the order of the calendar.</summary>
    public IReadOnlyList<LessonLine> Lessons { get; private set; } = [];

    public IReadOnlyList<TestLine> Tests { get; private set; } = [];

    /// <summary>Who else opened them by a reason, the latest first: for who teaches them to know.</summary>
    public IReadOnlyList<OpenedLine> Opened { get; private set; } = [];

    public bool MoreOpened { get; private set; }

    public LocalDate? EarliestLesson => Pupil.EarliestLesson();

    /// <summary>What the licence means for plates, supervision and motorways; null where it allows no lesson.</summary>
    public string? Drives { get; private set; }

    /// <summary>Opened by a reason alone: contact, places and record.</summary>
    public bool ByReason => HttpContext.SightOf() == Sight.ByReason;

    /// <summary>Who teaches them books, and whoever keeps the diary.</summary>
    public bool MayArrange => Pupil.RetiredOn is null && (!ByReason || viewer.KeepsDiary);

    public bool MayManage => viewer.May(Permission.ManagePupils);

    public bool MayOpenGuarded => viewer.May(Permission.ChangeGuarded) && !ByReason;

    public bool MayHandOver => viewer.May(Permission.ArrangeCover) && Pupil.RetiredOn is null;

    public bool MayGiveHats => viewer.May(Permission.GiveHats);

    public string SignInSentence { get; private set; } = "";

    public bool MayInvite { get; private set; }

    /// <summary>What they owe and have left; null where no money is kept.</summary>
    public PupilMoneyCard? Money { get; private set; }

    /// <summary>Leads to where they are picked up; null where that is to be found.</summary>
    public string? Navigate { get; private set; }

    public Task<IActionResult> OnGetAsync(CancellationToken cancel) => ShowAsync(cancel);

    public async Task<IActionResult> OnPostInviteAsync(CancellationToken cancel)
    {
        if (!MayManage)
        {
            return Forbid();
        }

        if (await FindAsync(cancel) is not { } pupil)
        {
            return NotFound();
        }

        var invited = await signIns.InvitePupilAsync(viewer, pupil.Id, pupil.Name, pupil.Email, cancel);
        if (invited.Ok)
        {
            TempData["Done"] = mail.Invited(pupil.Email);
            return RedirectToPage(new { Id });
        }

        ModelState.AddModelError("", invited.Refusal.For(Viewer.From(User)));
        return await ShowAsync(cancel);
    }

    private Task<Pupil?> FindAsync(CancellationToken cancel) => db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(p => p.Id == Id, cancel);

    private async Task<IActionResult> ShowAsync(CancellationToken cancel)
    {
        if (await FindAsync(cancel) is not { } pupil)
        {
            return NotFound();
        }

        Pupil = pupil;
        Navigate = await diary.NavigateAsync(pupil.PickUp, cancel);
        Instructor = pupil.UsualInstructorId is { } id ? (await instructors.FindAsync(id, cancel))?.Name : null;
        var facts = await school.GetAsync(cancel);
        var paperFacts = await papers.FactsAsync(pupil, facts.Today(clock), cancel);
        Papers = PupilPapers.Of(paperFacts, facts.Today(clock));
        Drives = pupil.Gearbox is null ? null : paperFacts.DrivesAs(facts.Today(clock)) switch
        {
            DrivesAs.Learner => "Drives as a learner: L plates (or D plates in Wales), with somebody beside who may supervise; on a motorway only with an approved instructor and dual controls.",
            DrivesAs.Holder => "Holds a full licence for this car: no plates and no supervisor needed, motorways too.",
            null => null,
        };
        MayPlanCourse = pupil.RetiredOn is null && await diary.GivesCoursesAsync(viewer, cancel);
        Lessons = [.. (await diary.LessonsAsync(Id, LessonsEachWay, viewer, cancel)).Select(l => Line(l, facts))];
        Tests = [.. (await diary.TestsAsync(Id, cancel)).Select(t => Line(t, facts))];
        var openings = ByReason ? [] : await opened.ReadableBy(viewer, Id).OrderByDescending(a => a.Id).Take(OpenedShown + 1).ToListAsync(cancel);
        (Opened, MoreOpened) = ([.. openings.Take(OpenedShown).Select(a => new OpenedLine(OpenedModel.When(a.At, facts), a.ByName, a.Reason))], openings.Count > OpenedShown);
        Money = await money.FindAsync(Id, viewer, cancel);
        var card = await signIns.OfPupilAsync(Id, cancel);
        MayInvite = card.State != SignInState.SignsIn && pupil.RetiredOn is null && pupil.Email.Length > 0;
        SignInSentence = card.State switch
        {
            SignInState.NotInvited or SignInState.Closed when pupil.Email.Length == 0 => "Cannot be invited yet: no e-mail address is entered.",
            SignInState.NotInvited => "Not invited yet.",
            SignInState.Invited => $"Invited as {card.Email}; no password chosen yet.",
            SignInState.SignsIn => $"Signs in as {card.Name}.",
            SignInState.Closed => "Closed. A new invitation opens it again.",
        };
        return Page();
    }

    private static LessonLine Line(PupilLessonCard lesson, SchoolFacts facts)
    {
        var (start, end) = (lesson.StartsAt.InZone(facts.Zone), lesson.EndsAt.InZone(facts.Zone));
        return new(lesson.Id, ScreenWords.When(start.Date, start.TimeOfDay, end.TimeOfDay, facts.TwelveHourClock), lesson.State, lesson.Note);
    }

    private static TestLine Line(PupilTestCard test, SchoolFacts facts)
    {
        var start = test.StartsAt.InZone(facts.Zone);
        return new(test.Id, $"{ScreenWords.DayAndYear(start.Date)}, {ScreenWords.Time(start.TimeOfDay, facts.TwelveHourClock)}", test.Centre, test.State);
    }

    internal sealed record OpenedLine(string When, string By, string Reason);

    internal sealed record TestLine(Guid Id, string When, string Centre, string State);

    internal sealed record LessonLine(Guid Id, string When, string State, string Note);
}
