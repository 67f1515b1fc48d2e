using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Day;

/// <summary>Reads what running late is worked out from.</summary>
internal sealed class LateReader(SchoolDb db, PictureLoader pictures, PupilBook pupils, DriveLog drives)
{
    /// <summary>What running late by some minutes does to the rest of the day.</summary>
    public async Task<LateAnswer> AnswerAsync(LateQuestion question, InstructorCard instructor, SchoolFacts facts, Instant at, CancellationToken cancel)
    {
        var ground = await GroundAsync(instructor, facts, question.Date, at, cancel);
        var known = ground.Known;
        if (question.NotBegun && Latest(ground, at) is { } latest)
        {
            known = known with { NotBegun = latest.Id };
        }
        else if (question.Begun && Latest(ground, at) is { } begun)
        {
            known = known with { Told = known.Told.Where(told => told.Key != begun.Id).ToDictionary() };
        }

        var day = RunningLate.Of(ground.Loaded.Picture.Rules, facts.Zone, ground.Diary, question.Date, ground.Loaded.Travel, at, question.Minutes, ground.Unknown, known);
        var booked = ground.Lessons.Where(l => l.State == LessonState.Booked).ToDictionary(l => l.Id);
        var on = day.On is { } entry ? booked.GetValueOrDefault(entry.Id) : null;
        var shown = day.Stops.Where(stop => booked.ContainsKey(stop.Entry.Id)).Select(stop => (Lesson: booked[stop.Entry.Id], Stop: stop)).ToList();
        var cards = await pupils.CardsAsync([.. shown.Select(one => one.Lesson.PupilId), .. on is null ? [] : new[] { on.PupilId }], cancel);
        return new(
            instructor, facts, question, at, [.. shown.Select(one => new LateLesson(one.Lesson, cards[one.Lesson.PupilId], one.Stop, ground.ToldOf(one.Lesson)))], day.HomeAt)
        {
            On = day.On is null ? null : new(on, on is null ? null : cards[on.PupilId]),
        };
    }

    /// <summary>The lesson ahead whose pupil is to be told by itself that it starts late, if there is one.</summary>
    public async Task<LateLesson?> DueAsync(InstructorCard instructor, SchoolFacts facts, LateTelling telling, int fewest, Instant now, CancellationToken cancel)
    {
        var date = now.InZone(facts.Zone).Date;
        var ground = await GroundAsync(instructor, facts, date, now, cancel);
        if (telling == LateTelling.Never || (telling == LateTelling.OnTheWay && ground.Known.LeftAt is null))
        {
            return null;
        }

        var next = RunningLate.Overdue(ground.Loaded.Picture.Rules, facts.Zone, ground.Diary, date, ground.Loaded.Travel, now, ground.Unknown, ground.Known);
        if (next is null || next.LateMinutes < fewest || ground.Lessons.FirstOrDefault(l => l.Id == next.Entry.Id && l.State == LessonState.Booked) is not { } lesson
            || ground.WasTold(lesson))
        {
            return null;
        }

        // A note without a letter would say that the pupil was told.
        var late = new LateLesson(lesson, (await pupils.CardsAsync([lesson.PupilId], cancel))[lesson.PupilId], next, null);
        return late.HasAddress ? late : null;
    }

    // Only a lesson whose time has come, and that nobody has recorded, may be said not to have begun.
    private static Lesson? Latest(LateGround ground, Instant at) =>
        ground.Lessons.Where(l => l.State == LessonState.Booked && l.StartsAt <= at && l.EndsAt > at).MaxBy(l => l.StartsAt);

    private async Task<LateGround> GroundAsync(InstructorCard instructor, SchoolFacts facts, LocalDate date, Instant now, CancellationToken cancel)
    {
        var loaded = await pictures.LoadAsync(date, date, [instructor.Id], cancel);
        var diary = loaded.DiaryOf(instructor.Id)!;
        var ids = diary.Entries.ToLookup(entry => entry.Kind == EntryKind.Test, entry => entry.Id);
        var (lessonIds, testIds) = (ids[false].ToArray(), ids[true].ToArray());
        var together = new ReadTogether(db);
        var lessons = together.Ask(db.Set<Lesson>().AsNoTracking().Where(l => lessonIds.Contains(l.Id)));
        var tests = together.Ask(db.Set<TestDay>().AsNoTracking().Where(t => testIds.Contains(t.Id)));
        var notes = together.Ask(db.Set<LateNote>().AsNoTracking().Where(n => lessonIds.Contains(n.LessonId)));
        await together.RunAsync(cancel);
        var drive = await drives.LastAsync(instructor.Id, date, facts.Zone, cancel);
        return new(loaded, diary, lessons.All, tests.All, notes.All.ToDictionary(n => n.LessonId), drive, now);
    }
}

/// <summary>A day and what is known of it.</summary>
internal sealed record LateGround(
    LoadedPicture Loaded, InstructorDiary Diary, IReadOnlyList<Lesson> Lessons, IReadOnlyList<TestDay> Tests, IReadOnlyDictionary<Guid, LateNote> Notes,
    LastDrive? Drive, Instant Now)
{
    public LateFacts Known { get; } = WithDrive(
        new(
            Lessons.Where(l => Notes.TryGetValue(l.Id, out var note) && note.AppliesTo(l)).ToDictionary(l => l.Id, l => Notes[l.Id].Minutes),
            Lessons.Where(l => l.State != LessonState.Booked).Select(l => l.Id).Concat(Tests.Where(t => t.HasResult).Select(t => t.Id)).ToHashSet()),
        Diary, Drive, Now);

    public UnknownPlaces Unknown { get; } = UnknownIn(ToldDrives.PlacesOf(Lessons, Tests));

    public int? ToldOf(Lesson lesson) => WasTold(lesson) ? Notes[lesson.Id].Minutes : null;

    public bool WasTold(Lesson lesson) => Notes.TryGetValue(lesson.Id, out var note) && note.StartsAt == lesson.StartsAt;

    // What began since says that the drive is over, whether or not the arrival was tapped.
    private static LateFacts WithDrive(LateFacts known, InstructorDiary diary, LastDrive? drive, Instant now) =>
        drive is null || diary.Entries.Where(entry => entry.IsPlaced).Select(entry => entry.During.Start + Duration.FromMinutes(known.Told.GetValueOrDefault(entry.Id)))
            .Any(began => began > drive.LeftAt && began <= now)
            ? known
            : known with { LeftAt = drive.LeftAt, ArrivedAt = drive.ArrivedAt };

    private static UnknownPlaces UnknownIn(IReadOnlyDictionary<Guid, (Place From, Place To)> places) => new(
        places.Where(one => !one.Value.From.IsFound).Select(one => one.Key).ToHashSet(), places.Where(one => !one.Value.To.IsFound).Select(one => one.Key).ToHashSet());
}
