using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>A lesson with the people and the car that go with it.</summary>
internal sealed record LessonCard(Lesson Lesson, PupilCard Pupil, InstructorCard Instructor, CarCard Car)
{
    /// <summary>What the school calls its kind; null for a lesson like any other.</summary>
    public string? KindName { get; init; }

    /// <summary>The public holiday on which it is booked; null on any other day.</summary>
    public string? Holiday { get; init; }
}

/// <summary>Some lessons of a longer list, and whether there are more behind them.</summary>
internal sealed record EarlierLessons(IReadOnlyList<LessonCard> Lessons, bool More);

/// <summary>What the pages about one pupil's lessons read.</summary>
internal sealed class PupilLessons(
    SchoolDb db, PupilBook pupils, OwnPupils own, InstructorBook instructors, CarPark carPark, PictureLoader pictures, PastPlaces past, SchoolInfo school, IClock clock)
{
    public const int PerSheet = 20;

    private const int MostAhead = 200;

    public async Task<LessonCard?> FindAsync(Guid id, Viewer viewer, CancellationToken cancel)
    {
        if (await CardsAsync(Visible(viewer).Where(l => l.Id == id), cancel) is not [var card])
        {
            return null;
        }

        await past.VeilAsync(viewer, [card.Lesson], cancel);
        return viewer.KeepsDiary ? card with { Pupil = await own.OfAsync(viewer, card.Lesson, card.Pupil, cancel) } : card;
    }

    /// <summary>Booked and not over, soonest first; the first may be going on now.</summary>
    public Task<IReadOnlyList<LessonCard>> ComingAsync(Guid pupilId, Viewer viewer, CancellationToken cancel) =>
        ComingAsync(Visible(viewer).Where(l => l.PupilId == pupilId), cancel);

    /// <summary>Everything else, latest first: over, or cancelled.</summary>
    public Task<EarlierLessons> EarlierAsync(Guid pupilId, int sheet, Viewer viewer, CancellationToken cancel) =>
        EarlierAsync(Visible(viewer).Where(l => l.PupilId == pupilId), sheet, cancel);

    /// <summary>The next lesson of each of these who lets it be seen, soonest first; it may be going on now.</summary>
    public Task<IReadOnlyList<LessonCard>> NextAsync(IReadOnlyList<PupilBeside> allowed, CancellationToken cancel)
    {
        var (now, wanted) = (clock.GetCurrentInstant(), WhoseLessons(allowed));
        var ahead = db.Set<Lesson>().Where(l => l.State == LessonState.Booked && l.EndsAt > now);
        return wanted.Length == 0 ? Task.FromResult<IReadOnlyList<LessonCard>>([]) : CardsAsync(
            ahead.AsNoTracking().Where(l => wanted.Contains(l.PupilId) && !ahead.Any(other => other.PupilId == l.PupilId && other.StartsAt < l.StartsAt))
                .OrderBy(l => l.StartsAt).ThenBy(l => l.Id),
            cancel);
    }

    /// <summary>Booked and not over, soonest first, as somebody beside the pupil may see them.</summary>
    public Task<IReadOnlyList<LessonCard>> ComingAsync(PupilBeside allowed, CancellationToken cancel) => ComingAsync(Of(allowed), cancel);

    /// <summary>Everything else, latest first, as somebody beside the pupil may see it.</summary>
    public Task<EarlierLessons> EarlierAsync(PupilBeside allowed, int sheet, CancellationToken cancel) => EarlierAsync(Of(allowed), sheet, cancel);

    /// <summary>The last lesson taught after which the instructor wrote something.</summary>
    public async Task<LessonCard?> LastNoteAsync(Guid pupilId, Viewer viewer, CancellationToken cancel) =>
        (await CardsAsync(
            Visible(viewer).Where(l => l.PupilId == pupilId && l.State == LessonState.Taught && l.Note != "")
                .OrderByDescending(l => l.StartsAt).Take(1),
            cancel)) is [var card] ? card : null;

    /// <summary>Where the last lesson that was not cancelled begins and ends, a coming one included; null where there is none.</summary>
    public async Task<(Place PickUp, Place DropOff)?> LastPlacesAsync(Guid pupilId, Viewer viewer, CancellationToken cancel) =>
        await Visible(viewer).Where(l => l.PupilId == pupilId && l.State != LessonState.Cancelled).OrderByDescending(l => l.StartsAt).Select(l => new { l.PickUp, l.DropOff }).FirstOrDefaultAsync(cancel) is { } last
            ? (last.PickUp, last.DropOff) : null;

    /// <summary>The booked lesson that is exactly the one asked for: the button was pressed twice.</summary>
    public async Task<Guid?> AlreadyBookedAsync(Guid pupilId, Guid instructorId, Instant start, int minutes, LessonKind kind, Viewer viewer, CancellationToken cancel)
    {
        var same = await Visible(viewer)
            .Where(l => l.PupilId == pupilId && l.InstructorId == instructorId && l.StartsAt == start && l.State == LessonState.Booked).ToListAsync(cancel);
        return same.Find(l => l.Minutes == minutes && l.Kind == kind)?.Id;
    }

    /// <summary>Who changed what, oldest first.</summary>
    public async Task<IReadOnlyList<LessonChange>> ChangesAsync(Guid lessonId, CancellationToken cancel) =>
        await db.Set<LessonChange>().AsNoTracking().Where(c => c.LessonId == lessonId).OrderBy(c => c.At).ThenBy(c => c.Id).ToListAsync(cancel);

    private Task<IReadOnlyList<LessonCard>> ComingAsync(IQueryable<Lesson> ofPupil, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        return CardsAsync(ofPupil.Where(l => l.State == LessonState.Booked && l.EndsAt > now).OrderBy(l => l.StartsAt).Take(MostAhead), cancel);
    }

    private async Task<EarlierLessons> EarlierAsync(IQueryable<Lesson> ofPupil, int sheet, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var found = await CardsAsync(
            ofPupil.Where(l => l.State != LessonState.Booked || l.EndsAt <= now)
                .OrderByDescending(l => l.StartsAt).ThenBy(l => l.Id).Skip((sheet - 1) * PerSheet).Take(PerSheet + 1),
            cancel);
        return new([.. found.Take(PerSheet)], found.Count > PerSheet);
    }

    private IQueryable<Lesson> Of(PupilBeside allowed)
    {
        var wanted = WhoseLessons([allowed]);
        return db.Set<Lesson>().AsNoTracking().Where(l => wanted.Contains(l.PupilId));
    }

    private static Guid[] WhoseLessons(IEnumerable<PupilBeside> allowed) => [.. allowed.Where(beside => beside.Lessons).Select(beside => beside.PupilId)];

    private IQueryable<Lesson> Visible(Viewer viewer) => db.Set<Lesson>().AsNoTracking().VisibleTo(viewer);

    private async Task<IReadOnlyList<LessonCard>> CardsAsync(IQueryable<Lesson> wanted, CancellationToken cancel)
    {
        var together = new ReadTogether(db);
        var rows = together.Ask(wanted);
        school.Ahead(together);
        instructors.Ahead(together);
        carPark.Ahead(together);
        await together.RunAsync(cancel);
        var lessons = rows.All;
        if (lessons.Count == 0)
        {
            return [];
        }

        var facts = await school.GetAsync(cancel);
        var zone = facts.Zone;
        var holidays = await HolidaysAsync(lessons, facts, cancel);
        var pupilCards = await pupils.CardsAsync(lessons.Select(l => l.PupilId), cancel);
        var teachers = (await instructors.ListAsync(alsoRetired: true, cancel)).ToDictionary(i => i.Id);
        var cars = (await carPark.ReadAsync(zone, alsoRetired: true, cancel)).Cars.ToDictionary(c => c.Id);
        var rules = lessons.All(l => l.Kind == LessonKind.Standard) ? null : await pictures.RulesAsync(cancel);
        return [.. lessons.Select(l => new LessonCard(l, pupilCards[l.PupilId], teachers[l.InstructorId], cars[l.CarId])
        {
            KindName = rules?.NameOf(l.Kind),
            Holiday = l.State == LessonState.Booked ? holidays.GetValueOrDefault(l.StartsAt.InZone(zone).Date) : null,
        })];
    }

    private async Task<IReadOnlyDictionary<LocalDate, string>> HolidaysAsync(IReadOnlyList<Lesson> lessons, SchoolFacts facts, CancellationToken cancel)
    {
        var dates = lessons.Where(l => l.State == LessonState.Booked).Select(l => l.StartsAt.InZone(facts.Zone).Date).Distinct().ToArray();
        return dates.Length == 0 ? new Dictionary<LocalDate, string>()
            : await db.Set<Holiday>().AsNoTracking().Where(h => h.Nation == facts.Nation && dates.Contains(h.Date)).ToDictionaryAsync(h => h.Date, h => h.Name, cancel);
    }
}
