using NodaTime;
using School.Core.Diary;
using School.Core.Pupils;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>A moment in the diary of an instructor.</summary>
internal readonly record struct DiaryMoment(Guid InstructorId, Instant At);

/// <summary>What is to be locked and read for one lesson.</summary>
/// <param name="PupilId">Whose lesson it is.</param>
/// <param name="Moments">Whose diaries it touches, and when.</param>
internal sealed record GroundWish(Guid PupilId, IReadOnlyList<DiaryMoment> Moments)
{
    /// <summary>What is booked, so that no kind is taken off the list meanwhile.</summary>
    public LessonKind Kind { get; init; }

    /// <summary>The cars that it leaves.</summary>
    public IReadOnlyList<Guid> Cars { get; init; } = [];

    /// <summary>What is asked about the first moment, once the pupil and its date are known; null where no start is to be judged.</summary>
    public Func<PupilCard, LocalDate, SlotQuestion>? Question { get; init; }

    /// <summary>What else is read under the same locks. Put again where the first time was no use.</summary>
    public Action<ReadTogether>? Also { get; init; }
}

/// <summary>What a lesson is judged, changed and told by, as it is under its locks.</summary>
internal sealed record LessonGround(StandingSchool Standing, PupilCard? Pupil)
{
    public DateTimeZone Zone => Standing.School.Zone;

    public InstructorCard? Instructor(Guid id) => Standing.Loaded.Instructors.GetValueOrDefault(id);
}

/// <summary>
/// Takes the locks of a lesson and reads what its rules and letters need, in one way to the database and back. What the school is like
/// apart from its lessons comes from memory, where its version, read under the same locks, says that it still is. All of it is given to
/// the rest of the transaction, so that nothing is read twice.
/// </summary>
internal sealed class LessonGrounds(
    SchoolDb db, ReadOnce once, StandingSchools standing, PictureLoader pictures, PupilBook pupils, InstructorBook instructors, SchoolInfo school, TravelModel travel)
{
    /// <summary>To be called first in a transaction, once.</summary>
    public async Task<LessonGround> TakeAsync(Viewer viewer, GroundWish wish, CancellationToken cancel)
    {
        var known = await standing.KnownAsync(cancel);
        if (travel.LooksUp && wish.Question is not null)
        {
            // What a routing server answers is remembered, so that nobody waits for it under the locks.
            await ReadAsync(viewer, wish, known, locked: false, cancel);
        }

        while (true)
        {
            var (version, pupil, day) = await ReadAsync(viewer, wish, known, locked: true, cancel);
            if (version.All[0] == known.Version)
            {
                return Give(known, pupil, day);
            }

            // Somebody changed the school since it was last looked at, so the locks may be others, and rows were read before those were had.
            known = await standing.NowAsync(version, cancel);
            db.ChangeTracker.Clear();
        }
    }

    private LessonGround Give(StandingSchool known, PupilCard? pupil, JudgedDay? day)
    {
        school.Give(known.School);
        instructors.Give(known.Loaded.Instructors.Values);
        pictures.Give(known.Loaded.Picture.Rules);
        if (pupil is not null)
        {
            pupils.Give(pupil);
        }

        if (day is not null)
        {
            once.Give(JudgedDay.Name, day);
        }

        return new(known, pupil);
    }

    private async Task<(Rows<long> Version, PupilCard? Pupil, JudgedDay? Day)> ReadAsync(
        Viewer viewer, GroundWish wish, StandingSchool known, bool locked, CancellationToken cancel)
    {
        var (instructorId, date) = (wish.Moments[0].InstructorId, known.DateOf(wish.Moments[0].At));
        var together = new ReadTogether(db);
        if (locked)
        {
            var names = LessonLocks.NamesOf([wish.PupilId], [.. wish.Moments.Select(m => new DiaryDay(m.InstructorId, known.DateOf(m.At)))], wish.Cars, known.Holds, known.School.Zone);
            together.Lock(wish.Kind == LessonKind.Standard ? names : [.. names, LessonLocks.Of(wish.Kind)]);
        }

        var version = standing.Ask(together);
        var pupil = pupils.Find(together, wish.PupilId, viewer);
        var diary = known.Loaded.DiaryOf(instructorId);
        var entries = wish.Question is null || diary is null ? null : pictures.Entries(together, date, known.School.Zone, diary);
        var week = wish.Question is null ? null : pictures.Lessons(together, wish.PupilId, date, date, known.School.Zone);
        if (locked)
        {
            wish.Also?.Invoke(together);
        }

        await together.RunAsync(cancel);
        if (pupil() is not { } card || wish.Question is not { } question || entries is null)
        {
            return (version, pupil(), null);
        }

        var loaded = await pictures.WithAsync(known.Loaded, diary!, entries(), SlotFinder.PlacesOf(question(card, date), card), cancel);
        return (version, card, new(card.Id, instructorId, date, loaded, card.Facts(week!())));
    }
}
