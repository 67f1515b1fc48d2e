using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Platform.Access;

namespace School.Web.Demo.Scale;

/// <summary>What a taught lesson leaves behind: minutes and sentence, the record with its levels, sometimes the pupil's own words.</summary>
internal sealed class ScaleRecord(ScalePupil pupil, DemoLearning learning)
{
    // Above those whose tests the ordinary demo tells of.
    public const int FirstNumber = 999;

    private static readonly Duration UntilReflection = Duration.FromHours(3);

    public void Record(Lesson lesson, Instant at, int fate)
    {
        var short5 = fate % 9 == 0 ? 5 : 0;
        var request = learning.Next(
            new(FirstNumber + pupil.Course.Number, pupil.Row, pupil.Teacher.Row), lesson.Minutes - short5, pupil.Dice.Of(DemoWords.Plain),
            lesson.StartsAt.InZone(pupil.Ground.Calendar.Zone).Date);
        var content = new RecordContent(
            request.MinutesTaught, request.Note ?? "", pupil.Ground.Syllabus.Number,
            [.. (request.Levels ?? []).Select(level => new LevelGiven { Skill = level.Skill!, Level = level.Level })],
            request.Aim ?? "", request.PrivateNote ?? "", request.RouteKind, request.Miles, "");
        if (lesson.Record(content.MinutesTaught, content.Note, at) is { } refusal)
        {
            throw new InvalidOperationException($"The lesson refused: {refusal.For(Viewer.Service)}");
        }

        pupil.Rows.Add(new LessonChange
        {
            Id = pupil.Ids.Next(at),
            LessonId = lesson.Id,
            Kind = ChangeKind.Recorded,
            At = at,
            ByPersonId = pupil.Teacher.Viewer.PersonId,
            ByName = pupil.Teacher.Viewer.Name,
            Words = $"Taught, {content.MinutesTaught} minutes.",
            StartsAt = lesson.StartsAt,
            InstructorId = lesson.InstructorId,
        });
        var record = pupil.Rows.Add(new LessonRecord
        {
            LessonId = lesson.Id,
            PupilId = pupil.Row.Id,
            Edition = content.Edition,
            RecordedAt = at,
            RecordedBy = pupil.Teacher.Viewer.PersonId,
        });
        record.Take(content, at, pupil.Teacher.Viewer.PersonId);
        Keep(lesson, content, at, pupil.Teacher.Viewer);
        var later = lesson.EndsAt + UntilReflection;
        if (later < pupil.Ground.Calendar.Now && learning.Reflection() is { } words)
        {
            (record.Reflection, record.ReflectedAt) = (words, later);
            Keep(lesson, content with { Reflection = words }, later, pupil.Viewer);
        }
    }

    private void Keep(Lesson lesson, RecordContent content, Instant at, Viewer by) => pupil.Rows.Add(new LessonRecordChange
    {
        Id = pupil.Ids.Next(at),
        LessonId = lesson.Id,
        At = at,
        ByPersonId = by.PersonId,
        ByName = by.Name,
        Content = content.Write(),
    });
}
