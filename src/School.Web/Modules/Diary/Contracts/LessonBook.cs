using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Contracts;

/// <summary>A lesson as a calendar feed needs it.</summary>
internal sealed record FeedLesson(
    Guid Id, Instant StartsAt, Instant EndsAt, LessonState State, int Sequence, Instant BookedAt, Instant ChangedAt,
    Guid PupilId, Guid InstructorId, Guid CarId, Place PickUp, Place DropOff, LessonKind Kind, string KeptBreaks)
{
    /// <summary>The rests within it.</summary>
    public IEnumerable<Interval> Rests() => LessonBreak.Read(KeptBreaks).Select(rest => rest.During(StartsAt));

    /// <summary>What the school calls its kind; null for a lesson like any other.</summary>
    public string? KindName { get; init; }
}

/// <summary>A lesson that was taught.</summary>
internal sealed record TaughtCard(Guid Id, Guid PupilId, Guid InstructorId, Guid CarId, Instant StartsAt, int Minutes, int MinutesTaught, string Note);

/// <summary>When a lesson was taught, and how much of it.</summary>
internal sealed record TaughtTime(Guid Id, Guid PupilId, Instant StartsAt, int MinutesTaught);

/// <summary>What other modules may ask about lessons.</summary>
internal sealed class LessonBook(SchoolDb db, PictureLoader pictures, IClock clock)
{
    /// <summary>Whether any lesson was ever booked.</summary>
    public Task<bool> AnyAsync(CancellationToken cancel) => db.Set<Lesson>().AnyAsync(cancel);

    /// <summary>Lessons of a period, by start. Cancelled ones only when that happened since <paramref name="cancelledSince"/>.</summary>
    public async Task<IReadOnlyList<FeedLesson>> LessonsForFeedAsync(
        Interval during, Instant cancelledSince, CancellationToken cancel, Guid? instructorId = null, Guid? pupilId = null, Guid? carId = null)
    {
        // Lets an index on the start alone bound the search: no lesson is longer.
        var earliest = during.Start - Lesson.Longest;
        var rows = await Of(pupilId, carId, instructorId)
            .Where(l => l.StartsAt > earliest && l.StartsAt < during.End && l.EndsAt > during.Start && (l.State != LessonState.Cancelled || l.ChangedAt >= cancelledSince))
            .OrderBy(l => l.StartsAt).ThenBy(l => l.Id)
            .Select(l => new FeedLesson(
                l.Id, l.StartsAt, l.EndsAt, l.State, l.Sequence, l.BookedAt, l.ChangedAt, l.PupilId, l.InstructorId, l.CarId, l.PickUp, l.DropOff, l.Kind, l.KeptBreaks))
            .ToListAsync(cancel);
        if (rows.TrueForAll(l => l.Kind == LessonKind.Standard))
        {
            return rows;
        }

        var rules = await pictures.RulesAsync(cancel);
        return rows.ConvertAll(l => l with { KindName = rules.NameOf(l.Kind) });
    }

    /// <summary>The pupil's last and next lessons that the viewer may open, as many each way, by start.</summary>
    public async Task<IReadOnlyList<PupilLessonCard>> OfPupilAsync(Guid pupilId, int eachWay, Viewer viewer, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var all = Of(pupilId, null, null).VisibleTo(viewer);
        var coming = await all.Where(l => l.State == LessonState.Booked && l.EndsAt > now).OrderBy(l => l.StartsAt).Take(eachWay).ToListAsync(cancel);
        var past = await all.Where(l => l.EndsAt <= now).OrderByDescending(l => l.StartsAt).Take(eachWay).ToListAsync(cancel);
        return [.. past.Concat(coming).OrderBy(l => l.StartsAt).Select(l => new PupilLessonCard(l.Id, l.StartsAt, l.EndsAt, LessonStateWords.Of(l, now).Words, l.Note))];
    }

    /// <summary>All taught lessons of some pupils, with whichever instructor, by start.</summary>
    public async Task<IReadOnlyList<TaughtCard>> TaughtAsync(IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel)
    {
        var rows = await db.Set<Lesson>().AsNoTracking().Where(l => pupilIds.Contains(l.PupilId) && l.State == LessonState.Taught)
            .OrderBy(l => l.StartsAt).ThenBy(l => l.Id).ToListAsync(cancel);
        return rows.ConvertAll(l => new TaughtCard(l.Id, l.PupilId, l.InstructorId, l.CarId, l.StartsAt, l.Minutes, l.MinutesTaught ?? l.Minutes, l.Note));
    }

    /// <summary>The same without anything but times.</summary>
    public async Task<IReadOnlyList<TaughtTime>> TimesTaughtAsync(IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel)
    {
        var rows = await db.Set<Lesson>().AsNoTracking().Where(l => pupilIds.Contains(l.PupilId) && l.State == LessonState.Taught)
            .OrderBy(l => l.StartsAt).ThenBy(l => l.Id).Select(l => new { l.Id, l.PupilId, l.StartsAt, l.EndsAt, l.BreakMinutes, l.MinutesTaught }).ToListAsync(cancel);
        return rows.ConvertAll(l => new TaughtTime(l.Id, l.PupilId, l.StartsAt, l.MinutesTaught ?? (int)(l.EndsAt - l.StartsAt).TotalMinutes - l.BreakMinutes));
    }

    /// <summary>Minutes of teaching that are booked for a pupil and not yet written down, also those whose time is over.</summary>
    /// <param name="pupilId">For whom.</param>
    /// <param name="before">Only of those that begin sooner.</param>
    /// <param name="cancel">Stops.</param>
    public async Task<int> MinutesBookedAsync(Guid pupilId, Instant? before, CancellationToken cancel) =>
        (await Of(pupilId, null, null).Where(l => l.State == LessonState.Booked && (before == null || l.StartsAt < before)).Select(l => new { l.StartsAt, l.EndsAt, l.BreakMinutes }).ToListAsync(cancel))
        .Sum(l => (int)(l.EndsAt - l.StartsAt).TotalMinutes - l.BreakMinutes);

    /// <summary>The pupils whom an instructor has taught since a moment.</summary>
    public async Task<IReadOnlyList<Guid>> PupilsTaughtAsync(Guid instructorId, Instant since, CancellationToken cancel) =>
        await Of(null, null, instructorId).Where(l => l.State == LessonState.Taught && l.StartsAt >= since).Select(l => l.PupilId).Distinct().ToListAsync(cancel);

    private IQueryable<Lesson> Of(Guid? pupilId, Guid? carId, Guid? instructorId) => db.Set<Lesson>().AsNoTracking()
        .Where(l => (pupilId == null || l.PupilId == pupilId) && (carId == null || l.CarId == carId) && (instructorId == null || l.InstructorId == instructorId));
}
