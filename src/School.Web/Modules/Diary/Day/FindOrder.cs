using System.Buffers.Binary;
using System.Security.Cryptography;
using System.Text;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Core.Pupils;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Day;

/// <summary>Which day; for the office also with lessons of pupils who must be asked first.</summary>
internal sealed record OrderQuestion(Guid InstructorId, LocalDate Date, bool AskPupils = false);

/// <summary>A day beside a better one, if there is any.</summary>
/// <param name="Instructor">Whose day.</param>
/// <param name="School">The school.</param>
/// <param name="Question">What was asked.</param>
/// <param name="Today">The day as it stands.</param>
/// <param name="Better">The better one; null when nothing drives less.</param>
/// <param name="Proved">Whether every order was looked at.</param>
/// <param name="Pupils">The pupils by lesson.</param>
/// <param name="ToAsk">Lessons whose new time is not among the times that their pupil gave.</param>
/// <param name="Movable">How many lessons may move.</param>
/// <param name="Version">Changes with the day's lessons and with what is proposed.</param>
/// <param name="Places">Where each lesson and test of the day begins and ends.</param>
internal sealed record OrderAnswer(
    InstructorCard Instructor, SchoolFacts School, OrderQuestion Question, DayRoute Today, BetterDay? Better, bool Proved,
    IReadOnlyDictionary<Guid, PupilCard> Pupils, IReadOnlySet<Guid> ToAsk, int Movable, int Version,
    IReadOnlyDictionary<Guid, (Place From, Place To)> Places)
{
    /// <summary>Which drives of the day in an order are told.</summary>
    public ToldDrives Told(DayRoute route) => new(route, Places, Instructor.Base);

    /// <summary>Minutes of driving in an order as far as they are told.</summary>
    public int ToldMinutes(DayRoute route) => route.DrivingMinutes - Told(route).Untold().Minutes;
}

/// <summary>Looks for an order of a day with less driving.</summary>
internal sealed class FindOrder(
    SchoolDb db, PictureLoader pictures, PupilBook pupils, PupilTimes times, InstructorBook instructors, SchoolInfo school, IClock clock)
{
    /// <summary>So long is looked for a proof; most days have one in a few milliseconds.</summary>
    private static readonly TimeSpan Most = TimeSpan.FromSeconds(8);

    public async Task<Outcome<OrderAnswer>> RunAsync(Viewer viewer, OrderQuestion question, CancellationToken cancel)
    {
        if (!viewer.KeepsDiaryOf(question.InstructorId) || await instructors.FindAsync(question.InstructorId, cancel) is not { } instructor)
        {
            return Refusal.NotFound("instructor");
        }

        if (question.AskPupils && !viewer.KeepsDiary)
        {
            return Refusal.Rule("office_asks", "Only the office moves lessons of pupils who have to be asked first.");
        }

        var facts = await school.GetAsync(cancel);
        var now = clock.GetCurrentInstant();
        if (question.Date < now.InZone(facts.Zone).Date)
        {
            return Refusal.Rule("in_the_past", "That day has passed. Choose today or a day to come.");
        }

        var loaded = await pictures.LoadAsync(question.Date, question.Date, [instructor.Id], cancel);
        var diary = loaded.DiaryOf(instructor.Id)!;
        var lessons = await LessonsAsync(diary, cancel);
        var cards = await pupils.CardsAsync(lessons.Select(l => l.PupilId), cancel);
        var known = await pictures.PupilsAsync([.. cards.Values], question.Date, question.Date, cancel);
        var given = await times.ReadAsync(cards.Keys, cancel);
        var ahead = lessons.Where(l => l.State is LessonState.Booked && l.StartsAt > now && cards[l.PupilId].RetiredOn is null).ToList();
        var movable = ahead.Where(l => question.AskPupils || given[l.PupilId].Count > 0).ToDictionary(
            l => l.Id, l => question.AskPupils ? [WholeDay(question.Date, facts)] : AvailableTime.On(given[l.PupilId], question.Date, facts.Zone));
        using var enough = CancellationTokenSource.CreateLinkedTokenSource(cancel);
        enough.CancelAfter(Most);
        var (better, proved) = BetterOrder.Find(loaded.Picture, diary, question.Date, loaded.Travel, known, movable, new(GiveUp: enough.Token));
        cancel.ThrowIfCancellationRequested();
        var byId = lessons.ToDictionary(l => l.Id);
        var toAsk = (better?.Moves ?? []).Where(move => !AvailableTime.Holds(given[byId[move.Entry.Id].PupilId], move.To, facts.Zone)).Select(move => move.Entry.Id);
        return new OrderAnswer(
            instructor, facts, question, DayRoute.Build(loaded.Picture.Rules, facts.Zone, diary, question.Date, loaded.Travel), better, proved,
            lessons.ToDictionary(l => l.Id, l => cards[l.PupilId]), toAsk.ToHashSet(), movable.Count, VersionOf(lessons, better),
            ToldDrives.PlacesOf(lessons, await TestsAsync(diary, cancel)));
    }

    private Task<List<Lesson>> LessonsAsync(InstructorDiary diary, CancellationToken cancel)
    {
        var ids = diary.Entries.Select(entry => entry.Id).ToArray();
        return db.Set<Lesson>().AsNoTracking().Where(l => ids.Contains(l.Id)).ToListAsync(cancel);
    }

    private async Task<IReadOnlyList<TestDay>> TestsAsync(InstructorDiary diary, CancellationToken cancel)
    {
        var ids = diary.Entries.Where(entry => entry.Kind == EntryKind.Test).Select(entry => entry.Id).ToArray();
        return ids.Length == 0 ? [] : await db.Set<TestDay>().AsNoTracking().Where(t => ids.Contains(t.Id)).ToListAsync(cancel);
    }

    private static Interval WholeDay(LocalDate date, SchoolFacts facts) =>
        new(facts.Zone.AtStartOfDay(date).ToInstant(), facts.Zone.AtStartOfDay(date.PlusDays(1)).ToInstant());

    private static int VersionOf(IEnumerable<Lesson> lessons, BetterDay? better)
    {
        var words = new StringBuilder();
        foreach (var lesson in lessons.OrderBy(l => l.Id))
        {
            words.Append(lesson.Id).Append(' ').Append(lesson.Version).Append('\n');
        }

        foreach (var move in better?.Moves ?? [])
        {
            words.Append(move.Entry.Id).Append(' ').Append(move.To.Start.ToUnixTimeSeconds()).Append('\n');
        }

        return BinaryPrimitives.ReadInt32LittleEndian(SHA256.HashData(Encoding.UTF8.GetBytes(words.ToString()))) & int.MaxValue;
    }
}
