using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>Chooses the lesson with which one changes places, shows what would become of both and asks; without a lesson, the swaps asked for lately.</summary>
[Needs(Permission.DriveTheDay)]
internal sealed class IndexModel(
    SchoolDb db, ProposalReader proposals, PlanSwap plan, SwapFit fit, PupilBook pupils, InstructorBook instructors, SchoolInfo school, Viewer viewer, IClock clock) : PageModel
{
    private const int MostRecent = 10;

    /// <summary>Whoever swaps looks this far ahead.</summary>
    private const int Days = 14;

    [BindProperty(SupportsGet = true)]
    public Guid? LessonId { get; set; }

    [BindProperty(SupportsGet = true)]
    public Guid? With { get; set; }

    public SwapChoice? Lesson { get; private set; }

    public SwapChoice? Other { get; private set; }

    public LocalDate Day { get; private set; }

    public Pager Pager { get; private set; } = null!;

    public IReadOnlyList<SwapChoice> Choices { get; private set; } = [];

    /// <summary>Those with which it cannot change places, and why.</summary>
    public IReadOnlyList<(SwapChoice Choice, string Why)> Impossible { get; private set; } = [];

    /// <summary>Whether the day has more lessons than are looked at.</summary>
    public bool More { get; private set; }

    public IReadOnlyList<RecentSwap> Recent { get; private set; } = [];

    public IReadOnlyList<Guid> Agreed { get; private set; } = [];

    public SchoolFacts School { get; private set; } = null!;

    /// <summary>Until when the pupils may answer; null where it is too near to ask.</summary>
    public Instant? Until { get; private set; }

    public async Task<IActionResult> OnGetAsync(LocalDate? on, CancellationToken cancel) => await ShowAsync(on, cancel) ? Page() : NotFound();

    public async Task<IActionResult> OnPostAsync(List<Guid> agreed, CancellationToken cancel)
    {
        Agreed = agreed;
        if (LessonId is not { } lesson || With is not { } other)
        {
            return NotFound();
        }

        var made = await plan.RunAsync(viewer, new(lesson, other, agreed), cancel);
        if (made.Ok)
        {
            return Redirect(SwapRefusals.Page(made.Value.Id));
        }

        if (made.Refusal.Kind is RefusalKind.NotFound)
        {
            return NotFound();
        }

        this.AddRefusal(made.Refusal);
        OpenSwap = made.Refusal.More.GetValueOrDefault(Refusal.PageMember) as string;
        return await ShowAsync(null, cancel) ? Page() : NotFound();
    }

    /// <summary>The swap that holds one of the lessons, where that is in the way.</summary>
    public string? OpenSwap { get; private set; }

    private async Task<bool> ShowAsync(LocalDate? on, CancellationToken cancel)
    {
        School = await school.GetAsync(cancel);
        if (LessonId is not { } id)
        {
            await ShowRecentAsync(cancel);
            return true;
        }

        var now = clock.GetCurrentInstant();
        if (await db.Set<Lesson>().AsNoTracking().KeptBy(viewer).SingleOrDefaultAsync(l => l.Id == id, cancel) is not { } lesson)
        {
            return false;
        }

        if (With is { } with)
        {
            if (await db.Set<Lesson>().AsNoTracking().KeptBy(viewer).SingleOrDefaultAsync(l => l.Id == with, cancel) is not { } other)
            {
                return false;
            }

            var both = await ChoicesAsync([lesson, other], cancel);
            (Lesson, Other) = (both[0], both[1]);
            Until = SwapTimes.Lapse(now, Instant.Min(lesson.StartsAt, other.StartsAt), bothAgreed: false) is var until && until > now ? until : null;
            return true;
        }

        var today = School.Today(clock);
        var date = on ?? lesson.StartsAt.InZone(School.Zone).Date;
        Day = date < today ? today : date > today.PlusDays(Days) ? today.PlusDays(Days) : date;
        Pager = ScreenTimes.Days(Day, today, to => $"/diary/swaps?lessonId={id}&on={to:uuuu-MM-dd}");
        var (from, end) = (Instant.Max(now, School.Zone.AtStartOfDay(Day).ToInstant()), School.Zone.AtStartOfDay(Day.PlusDays(1)).ToInstant());
        var lessons = await db.Set<Lesson>().AsNoTracking().KeptBy(viewer)
            .Where(l => l.State == LessonState.Booked && l.StartsAt > from && l.StartsAt < end && l.PupilId != lesson.PupilId)
            .OrderBy(l => l.StartsAt).ThenBy(l => l.Id).Take(SwapFit.Most + 1).ToListAsync(cancel);
        (lessons, More) = (lessons[..Math.Min(lessons.Count, SwapFit.Most)], lessons.Count > SwapFit.Most);
        var all = await ChoicesAsync([lesson, .. lessons], cancel);
        var why = await fit.WhyNotAsync(viewer, lesson, lessons, cancel);
        (Lesson, Choices) = (all[0], [.. all.Skip(1).Where(one => !why.ContainsKey(one.LessonId))]);
        Impossible = [.. all.Skip(1).Where(one => why.ContainsKey(one.LessonId)).Select(one => (one, why[one.LessonId].For(viewer)))];
        return true;
    }

    private async Task<List<SwapChoice>> ChoicesAsync(List<Lesson> lessons, CancellationToken cancel)
    {
        var cards = await pupils.CardsAsync(lessons.Select(l => l.PupilId), cancel);
        var names = await instructors.NamesAsync(cancel);
        return lessons.ConvertAll(l => new SwapChoice(l.Id, cards[l.PupilId].Name, l.InstructorId, names[l.InstructorId], l.During));
    }

    private async Task ShowRecentAsync(CancellationToken cancel)
    {
        var asked = await proposals.VisibleTo(viewer).Where(p => p.Kind == ProposalKind.Swap).OrderByDescending(p => p.AskedAt).Take(MostRecent).ToListAsync(cancel);
        var cards = await pupils.CardsAsync(asked.SelectMany(p => SwapRules.MoreOf(p).Before.Select(one => one.PupilId)), cancel);
        Recent =
        [
            .. asked.Select(p => (Swap: p, More: SwapRules.MoreOf(p))).Select(one => new RecentSwap(
                one.Swap.Id, string.Join(" and ", one.More.Before.Select(lesson => cards[lesson.PupilId].Name)), School.Moment(one.Swap.AskedAt), SwapWords.Of(one.Swap, one.More))),
        ];
    }
}

/// <summary>A lesson as the pages of a swap show it.</summary>
internal sealed record SwapChoice(Guid LessonId, string Pupil, Guid InstructorId, string Instructor, Interval During);

/// <summary>A swap as the list shows it.</summary>
internal sealed record RecentSwap(Guid Id, string Who, string Asked, string State);
