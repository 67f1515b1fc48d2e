using NodaTime;
using School.Core.Cars;

namespace School.Core.Diary;

/// <summary>The cars that an instructor holds at some time, by id.</summary>
internal sealed class HeldCars
{
    private readonly List<HeldCar> cars;

    public HeldCars(DiaryPicture picture, InstructorDiary diary, Guid? ignoredLesson)
    {
        var facts = picture.Cars.ToDictionary(car => car.Id);
        var busy = picture.CarBusy.Where(busy => busy.LessonId != ignoredLesson).ToLookup(busy => busy.CarId);
        cars = [.. diary.Holds
            .Where(hold => hold.InstructorId == diary.Instructor.Id && facts.ContainsKey(hold.CarId))
            .GroupBy(hold => hold.CarId)
            .OrderBy(group => group.Key)
            .Select(group => new HeldCar(
                facts[group.Key],
                Stretch.Merge(group.Select(hold => Stretch.Of(hold.During))),
                [.. busy[group.Key].Select(busy => (busy.LessonId, Stretch.Of(busy.During)))]))];
    }

    public HeldCar? Find(Guid carId) => cars.Find(car => car.Facts.Id == carId);

    /// <summary>The car for a lesson, or the rule that leaves none.</summary>
    /// <param name="lesson">When.</param>
    /// <param name="date">Its local date.</param>
    /// <param name="gearbox">The pupil's gearbox.</param>
    /// <param name="needsDualControls">Whether the pupil needs dual controls.</param>
    /// <param name="first">The car to prefer before all.</param>
    /// <param name="second">The car to prefer next.</param>
    public (Guid CarId, SlotRule? Broken) Choose(
        Stretch lesson, LocalDate date, Gearbox gearbox, bool needsDualControls, Guid? first, Guid? second)
    {
        var rule = SlotRule.NoSuitableCar;
        Guid? chosen = null;
        foreach (var car in cars)
        {
            if (!car.Suits(gearbox, needsDualControls) || car.WhyNot(lesson, date) is not null)
                continue;
            if (car.IsTaken(lesson))
                rule = SlotRule.CarBusy;
            else if (car.Facts.Id == first)
                return (car.Facts.Id, null);
            else if (chosen is null || car.Facts.Id == second)
                chosen = car.Facts.Id;
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
        : !Held.Exists(held => held.Covers(lesson)) ? "is not with this instructor at that time"
        : null;

    public bool IsTaken(Stretch lesson, Guid? byOtherThan = null) =>
        Busy.Exists(busy => busy.During.Overlaps(lesson) && busy.LessonId != byOtherThan);
}
