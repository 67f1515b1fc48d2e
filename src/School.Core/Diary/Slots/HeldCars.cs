using NodaTime;
using School.Core.Cars;
using School.Core.Pupils;

namespace School.Core.Diary.Slots;

/// <summary>The cars that an instructor holds at some time, by id.</summary>
internal sealed class HeldCars
{
    private readonly List<HeldCar> cars;

    private HeldCars(List<HeldCar> cars) => this.cars = cars;

    public HeldCars(DiaryPicture picture, InstructorDiary diary, Guid? ignoredLesson)
    {
        var held = diary.Holds.Where(hold => hold.InstructorId == diary.Instructor.Id).ToList();
        var ids = held.Select(hold => hold.CarId).ToHashSet();
        var facts = picture.Cars.Where(car => ids.Contains(car.Id)).ToDictionary(car => car.Id);
        var busy = picture.CarBusy.Where(busy => ids.Contains(busy.CarId) && busy.LessonId != ignoredLesson).ToLookup(busy => busy.CarId);
        cars = [.. held
            .Where(hold => facts.ContainsKey(hold.CarId))
            .GroupBy(hold => hold.CarId)
            .OrderBy(group => group.Key)
            .Select(group => new HeldCar(
                facts[group.Key],
                Stretch.Merge(group.Select(hold => Stretch.Of(hold.During))),
                [.. busy[group.Key].Select(busy => (busy.LessonId, Stretch.Of(busy.During)))]))];
    }

    /// <summary>The same for one day alone, without the cars whose papers forbid them then.</summary>
    public HeldCars On(LocalDate date, Stretch day, Guid? ignoredLesson) => new([.. cars
        .Where(car => car.Facts.WhyNotOn(date) is null && car.Held.Exists(day.Overlaps))
        .Select(car => car with { Busy = car.Busy.FindAll(busy => busy.LessonId != ignoredLesson && day.Overlaps(busy.During)) })]);

    /// <summary>Whether a lesson of anybody takes one of the cars.</summary>
    public bool AreTakenBy(Guid lessonId) => cars.Exists(car => car.Busy.Exists(busy => busy.LessonId == lessonId));

    /// <summary>Whether each car may be used at every moment of a period and is taken only by the instructor's own entries.</summary>
    public bool AreFreeThroughout(Stretch period, LocalDate date, List<DiaryEntry> own) => cars.TrueForAll(car =>
        car.WhyNot(period, date) is null
        && car.Busy.TrueForAll(busy => !busy.During.Overlaps(period)
            || own.Exists(entry => entry.Id == busy.LessonId && Stretch.Of(entry.During) == busy.During)));

    public HeldCar? Find(Guid carId) => cars.Find(car => car.Facts.Id == carId);

    /// <summary>The car for a lesson, or the rule that leaves none.</summary>
    /// <param name="lesson">When.</param>
    /// <param name="date">Its local date.</param>
    /// <param name="pupil">Whose.</param>
    /// <param name="boundOnMotorway">Whether the law asks for dual controls.</param>
    /// <param name="first">The car to prefer before all.</param>
    /// <param name="second">The car to prefer next.</param>
    public (Guid CarId, SlotRule? Broken) Choose(
        Stretch lesson, LocalDate date, PupilFacts pupil, bool boundOnMotorway, Guid? first, Guid? second)
    {
        var choice = Choose(lesson, date, pupil.Gearbox, pupil.NeedsDualControls || boundOnMotorway, first, second);
        // It is the motorway that leaves none where the pupil alone would have one, free or taken.
        return choice.Broken == SlotRule.NoSuitableCar && boundOnMotorway && !pupil.NeedsDualControls
            && Choose(lesson, date, pupil.Gearbox, false, first, second).Broken != SlotRule.NoSuitableCar
                ? (default, SlotRule.MotorwayNeedsDualControls)
                : choice;
    }

    private (Guid CarId, SlotRule? Broken) Choose(
        Stretch lesson, LocalDate date, Gearbox gearbox, bool needsDualControls, Guid? first, Guid? second)
    {
        var rule = SlotRule.NoSuitableCar;
        Guid? chosen = null;
        foreach (var car in cars)
        {
            if (!car.Suits(gearbox, needsDualControls) || car.WhyNot(lesson, date) is not null)
            {
                continue;
            }

            if (car.IsTaken(lesson))
            {
                rule = SlotRule.CarBusy;
            }
            else if (car.Facts.Id == first)
            {
                return (car.Facts.Id, null);
            }
            else if (chosen is null || car.Facts.Id == second)
            {
                chosen = car.Facts.Id;
            }
        }
        return chosen is { } id ? (id, null) : (default, rule);
    }
}

/// <summary>A car with the times at which an instructor holds it and at which lessons take it.</summary>
internal sealed record HeldCar(CarFacts Facts, List<Stretch> Held, List<(Guid LessonId, Stretch During)> Busy)
{
    public bool Suits(Gearbox gearbox, bool needsDualControls) =>
        Facts.Gearbox == gearbox && (Facts.DualControls || !needsDualControls);

    /// <summary>Why the car may not be used for a lesson, as the end of a sentence; null when it may.</summary>
    public string? WhyNot(Stretch lesson, LocalDate date) =>
        Facts.WhyNotOn(date) is { } problem ? problem.Words()
        : Facts.IsOffRoad(new Interval(lesson.Start, lesson.End)) ? "is off the road at that time"
        : !IsHeld(lesson) ? "is not with this instructor at that time"
        : null;

    // Loops, since closures would allocate for every start that a search looks at.
    public bool IsTaken(Stretch lesson, Guid? byOtherThan = null)
    {
        foreach (var (lessonId, during) in Busy)
        {
            if (during.Overlaps(lesson) && lessonId != byOtherThan)
            {
                return true;
            }
        }
        return false;
    }

    private bool IsHeld(Stretch lesson)
    {
        foreach (var held in Held)
        {
            if (held.Covers(lesson))
            {
                return true;
            }
        }
        return false;
    }
}
