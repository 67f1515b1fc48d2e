using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Day;

/// <summary>A booked lesson that cannot take place as booked, and the rule that it breaks.</summary>
internal sealed record ImpossibleBooking(Guid LessonId, Guid PupilId, string PupilName, Guid InstructorId, string InstructorName, Instant StartsAt, SlotRefusal Refusal);

/// <summary>Goes through every booked lesson ahead and says which of them a later change has made impossible.</summary>
internal sealed class DiaryCheck(SchoolDb db, PictureLoader pictures, PupilBook pupils, SchoolInfo school, IClock clock)
{
    /// <summary>In order of time; of one instructor, or of all when null.</summary>
    public async Task<IReadOnlyList<ImpossibleBooking>> FindAsync(Guid? instructorId, CancellationToken cancel)
    {
        var now = clock.GetCurrentInstant();
        var ahead = await db.Set<Lesson>().AsNoTracking()
            .Where(l => l.State == LessonState.Booked && l.StartsAt > now && (instructorId == null || l.InstructorId == instructorId))
            .Select(l => new { l.Id, l.InstructorId, l.PupilId, l.StartsAt }).ToListAsync(cancel);
        if (ahead.Count == 0)
        {
            return [];
        }

        var zone = (await school.GetAsync(cancel)).Zone;
        var (from, to) = (now.InZone(zone).Date, ahead.Max(l => l.StartsAt).InZone(zone).Date);
        var loaded = await pictures.LoadAsync(from, to, ahead.Select(l => l.InstructorId).ToHashSet(), cancel);
        var cards = await pupils.CardsAsync(ahead.Select(l => l.PupilId), cancel);
        var facts = await pictures.PupilsAsync([.. cards.Values], from, to, cancel);
        var lessons = ahead.ToDictionary(l => l.Id);
        return
        [
            .. from diary in loaded.Picture.Instructors
               from impossible in DiaryAudit.Find(loaded.Picture, diary, loaded.Travel, facts)
               let lesson = lessons.GetValueOrDefault(impossible.LessonId)
               where lesson is not null
               orderby lesson.StartsAt, lesson.Id
               select new ImpossibleBooking(
                   lesson.Id, lesson.PupilId, cards[lesson.PupilId].Name, lesson.InstructorId, loaded.Instructors[lesson.InstructorId].Name,
                   lesson.StartsAt, impossible.Refusal),
        ];
    }
}
