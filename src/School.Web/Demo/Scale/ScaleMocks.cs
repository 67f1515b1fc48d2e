using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Syllabus.Mocks;

namespace School.Web.Demo.Scale;

/// <summary>Mock tests in the last third of a course, with faults that fit where the pupil stood.</summary>
internal sealed class ScaleMocks(ScalePupil pupil, DemoLearning learning)
{
    public void Drive(IReadOnlyList<Lesson> lessons)
    {
        var taught = lessons.Where(lesson => lesson.State is LessonState.Taught).ToList();
        foreach (var share in (ReadOnlySpan<int>)[70, 85, 95])
        {
            if (taught.Count >= ScaleSize.ShortestCourse / 2 && pupil.Dice.Percent(55))
            {
                Add(taught[taught.Count * share / 100]);
            }
        }
    }

    private void Add(Lesson lesson)
    {
        var at = lesson.StartsAt + Duration.FromMinutes(5);
        var on = lesson.StartsAt.InZone(pupil.Ground.Calendar.Zone).Date;
        var levels = learning.LevelsBefore(ScaleRecord.FirstNumber + pupil.Course.Number, on);
        if (!DemoMocks.MayDrive(levels))
        {
            return;
        }

        var found = DemoMocks.FaultsOf(levels, pupil.Dice.Next(4));
        pupil.Rows.Add(new MockTest
        {
            Id = pupil.Ids.Next(at),
            PupilId = pupil.Row.Id,
            On = on,
            LessonId = lesson.Id,
            Faults = [.. found.SelectMany(fault => Enumerable.Repeat(fault, fault.Times)).Select((fault, n) => new NotedFault { Number = n + 1, Heading = fault.Heading, Kind = fault.Kind })],
            EtaVerbal = pupil.Dice.Next(3),
            Note = pupil.Dice.Percent(60) ? DemoMocks.NoteOf(found) : "",
            StartedAt = at,
            RecordedBy = pupil.Teacher.Viewer.PersonId,
            RecordedByName = pupil.Teacher.Row.Name,
            FinishedAt = at + Duration.FromMinutes(40),
        });
    }
}
