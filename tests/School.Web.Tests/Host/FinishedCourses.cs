using NodaTime;
using School.Core.Diary.TestDays;
using School.Core.Syllabus;
using School.Core.Syllabus.Readiness;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.Syllabus;
using School.Web.Modules.Syllabus.Lessons;
using School.Web.Modules.Syllabus.Readiness;

namespace School.Web.Tests.Host;

/// <summary>Pupils with a course behind them: taught lessons with marks, and a passed test.</summary>
internal static class FinishedCourses
{
    /// <summary>The skills that readiness waits for.</summary>
    public static IReadOnlyList<string> Counted { get; } = [.. ReadinessTerms.Of(SyllabusDefaults.GreatBritain()).Skills];

    public static async Task<(Instructor Instructor, Guid CarId)> TeacherAsync(this SchoolHost host)
    {
        var instructor = await host.Data.InstructorAsync();
        return (instructor, (await host.Data.CarAsync()).Id);
    }

    /// <summary>Weekly lessons at ten that marked every counted skill with a level.</summary>
    public static async Task TeachAsync(
        this SchoolHost host, (Instructor Instructor, Guid CarId) teacher, Pupil pupil, int lessons, LocalDate from, Func<int, int> level, int minutes = 60)
    {
        var (taught, records) = (new List<Lesson>(), new List<LessonRecord>());
        for (var i = 0; i < lessons; i++)
        {
            var start = from.PlusWeeks(i).At(new(10, 0)).InZoneStrictly(SchoolHost.London).ToInstant();
            var lesson = Lesson.Book(
                pupil.Id, teacher.Instructor.Id, teacher.CarId, new(start, start + Duration.FromMinutes(minutes)), pupil.PickUp, pupil.PickUp, start - Duration.FromDays(7));
            Assert.Null(lesson.Record(minutes, "", start + Duration.FromMinutes(minutes)));
            taught.Add(lesson);
            records.Add(new()
            {
                LessonId = lesson.Id,
                PupilId = pupil.Id,
                Edition = 1,
                Levels = [.. Counted.Select(skill => new LevelGiven { Skill = skill, Level = (SkillLevel)level(i) })],
                RecordedAt = start + Duration.FromMinutes(minutes),
                RecordedBy = teacher.Instructor.Id,
            });
        }

        await host.AddAsync([.. taught]);
        await host.AddAsync([.. records]);
    }

    public static async Task PassAsync(this SchoolHost host, Pupil pupil, LocalDate on)
    {
        var start = on.At(new(14, 0)).InZoneStrictly(SchoolHost.London).ToInstant();
        var test = TestDay.Enter(
            pupil.Id,
            new(start, Duration.FromMinutes(40), 60, 20, TestData.PlaceAt(), Core.Diary.Time.Nation.EnglandAndWales, pupil.PickUp, false, "", pupil.Gearbox!.Value, null, null, OwnCar: true),
            start - Duration.FromDays(30));
        test.Record(TestEnding.Completed, true, new TestMarks(3, 0, 0), [], 0, 0, "");
        await host.AddAsync(test);
    }

    /// <summary>The instructor has let the pupil see the forecast.</summary>
    public static Task ShareForecastAsync(this SchoolHost host, Pupil pupil, string sentence = "Steady work; let us look at roundabouts next.") => host.AddAsync(new SharedForecast
    {
        PupilId = pupil.Id,
        Sentence = sentence,
        ByPersonId = Guid.NewGuid(),
        ByName = "Marigold Ashby",
        SharedAt = host.Clock.GetCurrentInstant(),
    });
}
