using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Day;

/// <summary>How late, and the moment for which it was worked out: what is confirmed is what was shown.</summary>
internal sealed record LateQuestion(Guid InstructorId, LocalDate Date, int Minutes, Instant? At = null);

/// <summary>A lesson of the rest of the day, and what its pupil was told before; null for nothing.</summary>
internal sealed record LateLesson(Lesson Lesson, PupilCard Pupil, LateStop Stop, int? ToldMinutes)
{
    public int LateMinutes => Stop.LateMinutes;

    /// <summary>Whether the pupil is to be told something new: late, late by another time, or on time after all.</summary>
    public bool IsNews => LateMinutes != (ToldMinutes ?? 0);
}

internal sealed record LateAnswer(
    InstructorCard Instructor, SchoolFacts School, LateQuestion Question, Instant At, IReadOnlyList<LateLesson> Lessons, Instant? HomeAt)
{
    public IReadOnlyList<LateLesson> ToTell => [.. Lessons.Where(lesson => lesson.IsNews)];
}

/// <summary>Works out what running late does to the rest of an instructor's day, and tells the pupils.</summary>
internal sealed class TellLate(
    SchoolDb db, PictureLoader pictures, PupilBook pupils, InstructorBook instructors, SchoolInfo school, LessonMail mail, LessonHistory history, IClock clock)
{
    public const int MostMinutes = 240;
    public static readonly Duration ShownFor = Duration.FromMinutes(10);

    public async Task<Outcome<LateAnswer>> PreviewAsync(Viewer viewer, LateQuestion question, CancellationToken cancel)
    {
        if (!viewer.KeepsDiaryOf(question.InstructorId) || await instructors.FindAsync(question.InstructorId, cancel) is not { } instructor)
        {
            return Refusal.NotFound("instructor");
        }

        if (new FieldErrors().When(question.Minutes is < 1 or > MostMinutes, nameof(question.Minutes), $"Enter 1 to {MostMinutes} minutes.").ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var facts = await school.GetAsync(cancel);
        var now = Instant.FromUnixTimeSeconds(clock.GetCurrentInstant().ToUnixTimeSeconds());
        if (question.Date != now.InZone(facts.Zone).Date)
        {
            return Refusal.Rule("not_today", "Running late is about today. For another day, move the lessons.");
        }

        if (question.At is { } shown && (shown > now || now - shown > ShownFor))
        {
            return Refusal.Conflict("late_worked_out_long_ago", "This was worked out more than ten minutes ago. Look at it again.");
        }

        return await AnswerAsync(question, instructor, facts, question.At ?? now, cancel);
    }

    /// <summary>Tells every pupil for whom there is news. Confirmed twice, nobody is told twice.</summary>
    public async Task<Outcome<LateAnswer>> RunAsync(Viewer viewer, LateQuestion question, CancellationToken cancel) => await db.InTransactionAsync<LateAnswer>(
        async cancel =>
        {
            await db.LockAsync([$"instructor-day:{question.InstructorId}:{question.Date:uuuu-MM-dd}"], cancel);
            var answer = await PreviewAsync(viewer, question, cancel);
            if (!answer.Ok)
            {
                return answer;
            }

            foreach (var late in answer.Value.ToTell)
            {
                await TellAsync(late, viewer, cancel);
            }

            return answer;
        },
        cancel);

    private async Task TellAsync(LateLesson late, Viewer viewer, CancellationToken cancel)
    {
        var lesson = late.Lesson;
        if (await db.Set<LateNote>().SingleOrDefaultAsync(n => n.LessonId == lesson.Id, cancel) is not { } note)
        {
            note = new() { LessonId = lesson.Id, StartsAt = lesson.StartsAt, Minutes = 0, ToldAt = default };
            db.Add(note);
        }

        (note.StartsAt, note.Minutes, note.ToldAt) = (lesson.StartsAt, late.LateMinutes, clock.GetCurrentInstant());
        note.Times++;
        var told = late.Pupil.Email.Length > 0 ? "Told" : "Not told, as there is no e-mail address";
        history.Note(
            lesson, ChangeKind.ToldLate, $"{told}: {(late.LateMinutes > 0 ? $"about {Words.Count(late.LateMinutes, "minute")} late" : "on time after all")}.", viewer);
        await mail.LateAsync(lesson, late.Stop.Starts, late.LateMinutes, note.Times, cancel);
    }

    private async Task<LateAnswer> AnswerAsync(LateQuestion question, InstructorCard instructor, SchoolFacts facts, Instant at, CancellationToken cancel)
    {
        var loaded = await pictures.LoadAsync(question.Date, question.Date, [instructor.Id], cancel);
        var diary = loaded.DiaryOf(instructor.Id)!;
        var (places, all) = await PlacesAsync(diary, cancel);
        var unknown = new UnknownPlaces(
            places.Where(one => !one.Value.From.IsFound).Select(one => one.Key).ToHashSet(), places.Where(one => !one.Value.To.IsFound).Select(one => one.Key).ToHashSet());
        var day = RunningLate.Of(loaded.Picture.Rules, facts.Zone, diary, question.Date, loaded.Travel, at, question.Minutes, unknown);
        var ids = day.Stops.Select(stop => stop.Entry.Id).ToArray();
        var lessons = all.Where(l => ids.Contains(l.Id) && l.State == LessonState.Booked).ToDictionary(l => l.Id);
        var notes = await db.Set<LateNote>().AsNoTracking().Where(n => ids.Contains(n.LessonId)).ToDictionaryAsync(n => n.LessonId, cancel);
        var cards = await pupils.CardsAsync(lessons.Values.Select(l => l.PupilId), cancel);
        return new(
            instructor, facts, question, at,
            [
                .. from stop in day.Stops
                   where lessons.ContainsKey(stop.Entry.Id)
                   let lesson = lessons[stop.Entry.Id]
                   let told = notes.TryGetValue(lesson.Id, out var note) && note.StartsAt == lesson.StartsAt ? note.Minutes : (int?)null
                   select new LateLesson(lesson, cards[lesson.PupilId], stop, told),
            ],
            day.HomeAt);
    }

    /// <summary>Where each lesson and test of the day begins and ends, and the lessons.</summary>
    private async Task<(IReadOnlyDictionary<Guid, (Place From, Place To)> Places, IReadOnlyList<Lesson> Lessons)> PlacesAsync(InstructorDiary diary, CancellationToken cancel)
    {
        var ids = diary.Entries.ToLookup(entry => entry.Kind == EntryKind.Test, entry => entry.Id);
        var (lessonIds, testIds) = (ids[false].ToArray(), ids[true].ToArray());
        var lessons = await db.Set<Lesson>().AsNoTracking().Where(l => lessonIds.Contains(l.Id)).ToListAsync(cancel);
        var tests = testIds.Length == 0 ? [] : await db.Set<TestDay>().AsNoTracking().Where(t => testIds.Contains(t.Id)).ToListAsync(cancel);
        return (ToldDrives.PlacesOf(lessons, tests), lessons);
    }
}
