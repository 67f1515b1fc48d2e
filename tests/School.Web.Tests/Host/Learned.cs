using NodaTime;
using School.Core.Syllabus;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.Syllabus.Lessons;

namespace School.Web.Tests.Host;

/// <summary>Taught lessons with their records, put straight into the database.</summary>
internal static class Learned
{
    public static readonly LocalDate FirstDay = new(2026, 1, 5);

    /// <summary>A lesson of an hour on the day so many days after 5 January 2026, with levels given.</summary>
    public static async Task<Lesson> TaughtAsync(
        this SchoolHost host, Pupil pupil, Instructor instructor, int days, string note, int edition, params (string Skill, SkillLevel Level)[] levels)
    {
        var start = (FirstDay.PlusDays(days) + new LocalTime(10, 0)).InZoneStrictly(SchoolHost.London).ToInstant();
        var car = await host.Data.CarAsync();
        var lesson = Lesson.Book(pupil.Id, instructor.Id, car.Id, new(start, start + Duration.FromHours(1)), pupil.PickUp, pupil.PickUp, start - Duration.FromDays(5));
        lesson.Record(60, note, start + Duration.FromHours(2));
        await host.AddAsync(lesson);
        if (levels.Length > 0)
        {
            var record = new LessonRecord
            {
                LessonId = lesson.Id,
                PupilId = pupil.Id,
                Edition = edition,
                Levels = [.. levels.Select(l => new LevelGiven { Skill = l.Skill, Level = l.Level })],
                Aim = "Roundabouts next.",
                PrivateNote = "Gets nervous near lorries.",
                Route = RouteKind.Town,
                Miles = 12.5m,
                RecordedAt = start + Duration.FromHours(2),
                RecordedBy = instructor.Id,
            };
            var content = new RecordContent(
                lesson.MinutesTaught ?? 0, lesson.Note, record.Edition, record.Levels, record.Aim, record.PrivateNote, record.Route, record.Miles, record.Reflection);
            var change = new LessonRecordChange { LessonId = lesson.Id, At = record.RecordedAt, ByPersonId = instructor.Id, ByName = instructor.Name, Content = content.Write() };
            await host.AddAsync(record, change);
        }

        return lesson;
    }
}
