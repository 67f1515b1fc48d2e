using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Syllabus;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>What to know before a lesson.</summary>
internal sealed record LessonBrief(
    LessonSheet Lesson, PupilCard Pupil, InstructorCard Instructor, CarCard Car, SchoolFacts School, LessonPlan Plan, PupilCautions Cautions, bool NeedsPlates)
{
    /// <summary>What the school calls the kind of lesson; null for one like any other.</summary>
    public string? KindName { get; init; }

    /// <summary>The pupil's next test from the lesson on.</summary>
    public TestAhead? Test { get; init; }

    // What is read in a minute is read at all: common practice, no source.
    private const int MostExplain = 3;
    private const int MostGearbox = 4;
    private const int MostSafety = 4;
    private const int MostForPupil = 3;

    /// <summary>A school that had the pupil for no lesson yet knows nothing of how they drive.</summary>
    public bool IsFirst => Plan.Learning.Lessons.Count == 0;

    /// <summary>The latest lesson before this one after which somebody wrote something; null where nobody ever did.</summary>
    public LearnedLesson? Asked => Plan.Asked;

    /// <summary>What was agreed to aim for; empty where nothing was.</summary>
    public string Aim => Asked?.Record?.Aim ?? "";

    /// <summary>What the agreed aim is about, as far as its words tell.</summary>
    public PlannedSkill? Agreed => Suggested is [{ Reason: PlanReason.Agreed } agreed, ..] ? agreed : null;

    /// <summary>Whether a motorway is suggested.</summary>
    public static bool OnMotorway(LessonPlan plan) => plan.Suggested.Any(planned => planned.Skill.Key == MotorwayRule.Skill);

    public IReadOnlyList<PlannedSkill> Suggested => Plan.Suggested;

    /// <summary>As many as a pupil likes to think about in an evening.</summary>
    public IEnumerable<PlannedSkill> ForPupil => Suggested.Take(MostForPupil);

    public bool IsManual => Car.Facts.Gearbox == Gearbox.Manual;

    /// <summary>What is particular in this car's gearbox about the suggested skills.</summary>
    public IReadOnlyList<SkillPoint> GearboxPoints => FirstOfEach(skill => IsManual ? skill.Manual : skill.Automatic, MostGearbox);

    public IReadOnlyList<SkillPoint> SafetyPoints => FirstOfEach(skill => skill.Safety, MostSafety);

    public string When => School.When(Lesson.During);

    /// <summary>When and where the test is that comes before all else in a brief.</summary>
    public string TestWords(TestAhead test)
    {
        var start = test.StartsAt.InZone(School.Zone);
        return $"Test {ScreenWords.Day(start.Date)}, {ScreenWords.Time(start.TimeOfDay, School.TwelveHourClock)}, {test.Centre}";
    }

    /// <summary>The address, with the place's short name before it where that says something more.</summary>
    public static string Where(Place place) =>
        place.Address.Contains(place.Label, StringComparison.OrdinalIgnoreCase) ? place.Address : place.Address.Length > 0 ? $"{place.Label}, {place.Address}" : place.Written;

    public static IEnumerable<SkillPoint> KeyPoints(Skill skill) => skill.Explain.Take(MostExplain);

    /// <summary>One point of every suggested skill in turn, then the second of each, until there are enough.</summary>
    private SkillPoint[] FirstOfEach(Func<Skill, IReadOnlyList<SkillPoint>> points, int most) =>
        [.. Suggested.SelectMany(planned => points(planned.Skill).Select((point, place) => (point, place))).OrderBy(each => each.place).Select(each => each.point).Distinct().Take(most)];
}

/// <summary>Reads the brief of a lesson that the viewer may see.</summary>
internal sealed class BriefReader(
    LessonRecording lessons, LessonPlanner planner, PupilBook pupils, InstructorBook instructors, CarPark cars, SchoolInfo school, DrivingGround ground, TestBook tests, IClock clock)
{
    public async Task<LessonBrief?> FindAsync(Guid lessonId, Viewer viewer, CancellationToken cancel) =>
        await lessons.FindAsync(lessonId, viewer, cancel) is { } lesson ? await OfAsync(lesson, viewer, cancel) : null;

    public async Task<LessonBrief> OfAsync(LessonSheet lesson, Viewer viewer, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var on = lesson.StartsAt.InZone(facts.Zone).Date;
        var instructor = (await instructors.FindAsync(lesson.InstructorId, cancel))!;
        var car = (await cars.ReadAsync(facts.Zone, alsoRetired: true, cancel)).Cars.Single(car => car.Id == lesson.CarId);
        var pupil = (await pupils.CardsAsync([lesson.PupilId], cancel))[lesson.PupilId];
        var bound = MotorwayRule.Of(instructor.Facts.Kind, car.Facts.DualControls);
        // Asked only where something hangs on it.
        var isLearner = bound is not null && await ground.IsLearnerAsync(pupil, on, car.Facts.Gearbox, cancel);
        var plan = await planner.BeforeAsync(lesson.PupilId, lesson.StartsAt, isLearner ? bound : null, cancel);
        var onMotorway = lesson.Kind == LessonKind.Motorway || LessonBrief.OnMotorway(plan);
        return new(
            lesson,
            pupil,
            instructor,
            car,
            facts,
            plan,
            (await pupils.CautionsAsync(lesson.PupilId, on, facts.Today(clock), viewer, cancel))!,
            onMotorway && (isLearner || (bound is null && await ground.IsLearnerAsync(pupil, on, car.Facts.Gearbox, cancel))))
        {
            Test = await tests.AheadAsync(lesson.PupilId, lesson.StartsAt, viewer, cancel),
            KindName = await lessons.KindNameAsync(lesson.Kind, cancel),
        };
    }
}
