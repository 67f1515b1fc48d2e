using NodaTime;
using School.Core.Syllabus.Mocks;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Syllabus.Mocks;

namespace School.Web.Demo.Scale;

/// <summary>Mock tests in the last third of a course.</summary>
internal sealed class ScaleMocks(ScalePupil pupil)
{
    private static readonly string[] Notes = ["", "Nerves at first, then steady.", "Ready for the day, as long as the mirrors come every time.", "Waits too long for gaps."];

    public void Drive(IReadOnlyList<Lesson> lessons)
    {
        var taught = lessons.Where(lesson => lesson.State is LessonState.Taught).ToList();
        foreach (var share in (ReadOnlySpan<int>)[70, 85, 95])
        {
            if (taught.Count >= ScaleSize.ShortestCourse / 2 && pupil.Dice.Percent(55))
            {
                Add(taught[taught.Count * share / 100], share);
            }
        }
    }

    private void Add(Lesson lesson, int share)
    {
        var at = lesson.StartsAt + Duration.FromMinutes(5);
        var faults = new List<NotedFault>();
        for (var n = 1 + pupil.Dice.Next(share > 90 ? 8 : 16); n > 0; n--)
        {
            faults.Add(new()
            {
                Number = faults.Count + 1,
                Heading = pupil.Dice.Of(MockMarking.MostFailed).Code,
                Kind = pupil.Dice.Percent(share > 90 ? 2 : 8) ? FaultKind.Serious : FaultKind.Driving,
            });
        }

        pupil.Rows.Add(new MockTest
        {
            Id = pupil.Ids.Next(at),
            PupilId = pupil.Row.Id,
            On = lesson.StartsAt.InZone(pupil.Ground.Calendar.Zone).Date,
            LessonId = lesson.Id,
            Faults = faults,
            EtaVerbal = pupil.Dice.Next(3),
            Note = pupil.Dice.Of(Notes),
            StartedAt = at,
            RecordedBy = pupil.Teacher.Viewer.PersonId,
            RecordedByName = pupil.Teacher.Row.Name,
            FinishedAt = at + Duration.FromMinutes(40),
        });
    }
}
