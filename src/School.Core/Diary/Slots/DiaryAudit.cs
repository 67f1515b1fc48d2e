using NodaTime;
using School.Core.Cars;
using School.Core.Diary.Time;
using School.Core.Pupils;
using School.Core.Travel;

namespace School.Core.Diary.Slots;

/// <summary>Finds booked lessons that a later change has made impossible.</summary>
/// <remarks>
/// The rules are those of <see cref="SlotSearch"/> without grid, length, notice and horizon. A rule about two lessons is
/// told for the later one: the drive that does not fit, the missing rest, the lesson that passes a limit. Of two that
/// overlap both are told.
/// </remarks>
public static class DiaryAudit
{
    /// <summary>The lessons of one diary that are still to start and now break a rule, each with the first rule broken,
    /// in order of time.</summary>
    /// <param name="picture">Rules, zone, now, cars and car use; its instructors are not read.</param>
    /// <param name="diary">The diary to go through.</param>
    /// <param name="travel">Travel times.</param>
    /// <param name="pupils">The pupils, where known: age, licence, gearbox, dual controls, other lessons and weekly limit
    /// are checked for them.</param>
    public static IReadOnlyList<ImpossibleLesson> Find(
        DiaryPicture picture, InstructorDiary diary, ITravelTimes travel, IReadOnlyDictionary<Guid, PupilFacts>? pupils = null)
    {
        var lessons = diary.Entries
            .Where(entry => entry.Kind == EntryKind.Lesson && entry.During.Start > picture.Now)
            .OrderBy(entry => entry.During.Start).ThenBy(entry => entry.Id);
        var days = new Dictionary<LocalDate, DayAudit>();
        var cars = new HeldCars(picture, diary, null);
        var legs = new Legs(travel, picture.Zone);
        var impossible = new List<ImpossibleLesson>();
        foreach (var lesson in lessons)
        {
            var date = lesson.During.Start.InZone(picture.Zone).Date;
            if (!days.TryGetValue(date, out var day))
            {
                days[date] = day = new(picture, diary, new(picture.Zone, diary, date), legs, cars);
            }

            var pupil = lesson.PupilId is { } id ? pupils?.GetValueOrDefault(id) : null;
            if (day.FirstBroken(lesson, pupil) is { } refusal)
            {
                impossible.Add(new(lesson.Id, refusal));
            }
        }
        return impossible;
    }
}

/// <summary>A booked lesson that cannot take place as booked.</summary>
/// <param name="LessonId">The lesson.</param>
/// <param name="Refusal">The rule it breaks, and what to do about it.</param>
public sealed record ImpossibleLesson(Guid LessonId, SlotRefusal Refusal);

/// <summary>The audit of one date.</summary>
internal sealed class DayAudit(DiaryPicture picture, InstructorDiary diary, DayTimeline day, Legs legs, HeldCars cars)
{
    private readonly DiaryRules rules = picture.Rules;
    private readonly InstructorFacts instructor = diary.Instructor;
    private readonly List<WorkItem> work = day.Work(diary.Instructor.Base, legs, picture.Rules);

    public SlotRefusal? FirstBroken(DiaryEntry lesson, PupilFacts? pupil)
    {
        var during = Stretch.Of(lesson.During);
        var car = lesson.CarId is { } carId ? cars.Find(carId) : null;
        return PupilRule(pupil, LearnerRules.AsksFirst(lesson.LessonKind))
            ?? GearboxRule(pupil?.Gearbox ?? car?.Facts.Gearbox)
            ?? InstructorRule(lesson, during, pupil)
            ?? TestRule(lesson, pupil)
            ?? PupilDiaryRule(lesson, during, pupil)
            ?? DailyRule(during)
            ?? DriveRule(lesson)
            ?? RestRuleFor(lesson)
            ?? CarRule(lesson, during, car, pupil);
    }

    // A lesson that stands while licence and date of birth are still to be seen and asked is not broken: that is told by itself.
    private SlotRefusal? PupilRule(PupilFacts? pupil, bool asksFirst) =>
        pupil is not null && LearnerRules.Broken(pupil, day.Date, rules, asksFirst) is { } rule
            ? new(rule, SlotSentences.ForPupil(rule, pupil, rules, day.Date, picture.Now.InZone(picture.Zone).Date, asksFirst))
            : null;

    private SlotRefusal? GearboxRule(Gearbox? gearbox) =>
        gearbox is { } needed && !instructor.Teaches.Contains(needed)
            ? new(SlotRule.WrongGearbox, SlotSentences.WrongGearbox(needed))
            : null;

    private SlotRefusal? InstructorRule(DiaryEntry lesson, Stretch during, PupilFacts? pupil)
    {
        if (!instructor.IsRegisteredOn(day.Date))
        {
            return new(SlotRule.InstructorNotRegistered, SlotSentences.NotRegistered(instructor, day.Date));
        }

        if (IsBound(lesson, pupil) && instructor.Kind != RegistrationKind.Approved)
        {
            return new(SlotRule.MotorwayNeedsAdi, SlotSentences.NeedsAdi);
        }

        if (!day.IsInsideOneSpan(during))
        {
            return new(SlotRule.OutsideWorkingHours, SlotSentences.OutsideHours(day, picture.Zone));
        }

        if (day.IsTimeOff(during))
        {
            return new(SlotRule.TimeOff, "The instructor is off at that time. Move the lesson or choose another instructor.");
        }

        return day.Entries.Exists(other => other.Id != lesson.Id && during.Overlaps(Stretch.Of(other.During)))
            ? new(SlotRule.InstructorBusy, "The instructor has something else at that time. Move one of them or choose another instructor.")
            : null;
    }

    private bool IsBound(DiaryEntry lesson, PupilFacts? pupil) =>
        lesson.LessonKind == LessonKind.Motorway && (pupil is null || MotorwayRule.Binds(pupil, day.Date));

    private SlotRefusal? TestRule(DiaryEntry lesson, PupilFacts? pupil) =>
        lesson.LessonKind == LessonKind.TestDay && pupil?.HasTestIn(day.Day) == false ? new(SlotRule.NoTestThatDay, SlotSentences.NoTest) : null;

    private SlotRefusal? PupilDiaryRule(DiaryEntry lesson, Stretch during, PupilFacts? pupil)
    {
        if (pupil is null)
        {
            return null;
        }

        if (pupil.Lessons.Any(other => other.Id != lesson.Id && during.Overlaps(Stretch.Of(other.During))))
        {
            return new(SlotRule.PupilBusy, "The pupil has another lesson at that time. Move or cancel one of them.");
        }

        var upToThis = pupil.Lessons.Where(other => other.Id != lesson.Id && other.During.Start <= during.Start);
        var week = Weeks.Minutes([.. upToThis, new(lesson.Id, lesson.During) { BreakMinutes = lesson.Breaks.Sum(rest => rest.Minutes) }], Weeks.Of(day.Date, picture.Zone), null);
        return week > pupil.WeeklyMinutes
            ? new(SlotRule.WeeklyLimit, SlotSentences.Weekly(week, pupil.WeeklyMinutes.Value))
            : null;
    }

    private SlotRefusal? DailyRule(Stretch during)
    {
        var upToThis = day.Lessons.Where(other => other.During.Start <= during.Start);
        var taught = upToThis.Aggregate(Duration.Zero, (sum, other) => sum + other.Taught).CeilingMinutes();
        var limit = instructor.DailyLimit(rules);
        return taught > limit ? new(SlotRule.DailyLimit, SlotSentences.Daily(taught, limit)) : null;
    }

    private SlotRefusal? DriveRule(DiaryEntry lesson)
    {
        if (day.Gaps.Find(gap => gap.After == lesson) is not { } into)
        {
            return null;
        }

        var late = into.Before is { } before
            ? TooLong(Need(legs.Minutes(before.Ends!.Value, lesson.Begins!.Value, before.During.End)), day.Free(before.During.End, lesson.During.Start))
            : !rules.FirstLegIsWork ? null
            : TooLong(day.NeedFirst(legs.First(instructor.Base, lesson, rules), lesson.During.Start, rules), day.Free(day.WorkBegins, lesson.During.Start));
        if (late is not null)
        {
            return late;
        }

        if (day.Gaps[^1].Before == lesson && rules.LastLegIsWork)
        {
            var leg = legs.Minutes(lesson.Ends!.Value, instructor.Base, lesson.During.End);
            return TooLong(Need(leg), day.Free(lesson.During.End, day.WorkEnds));
        }
        return null;
    }

    private Duration Need(int leg) => Duration.FromMinutes(leg + rules.BufferMinutes);

    private static SlotRefusal? TooLong(Duration need, Duration free) => free < need
        ? new(SlotRule.NoTimeToGetThere, SlotSentences.Drive(need.CeilingMinutes(), free.WholeMinutes()))
        : null;

    private SlotRefusal? RestRuleFor(DiaryEntry lesson) =>
        RestRule.FirstWithoutRest(work, rules) is { } item && work[item].Entry == lesson
            ? new(SlotRule.RestNeeded, SlotSentences.Rest(rules))
            : null;

    private SlotRefusal? CarRule(DiaryEntry lesson, Stretch during, HeldCar? car, PupilFacts? pupil)
    {
        if (lesson.CarId is null)
        {
            return NoCar("has not been chosen yet");
        }

        if (car is null)
        {
            return NoCar("is not with this instructor");
        }

        if (pupil is not null && car.Facts.Gearbox != pupil.Gearbox)
        {
            return NoCar("does not have the pupil's gearbox");
        }

        if (pupil is { NeedsDualControls: true } && !car.Facts.DualControls)
        {
            return NoCar("has no dual controls, which the pupil needs");
        }

        if (IsBound(lesson, pupil) && !car.Facts.DualControls)
        {
            return new(SlotRule.MotorwayNeedsDualControls, SlotSentences.NeedsDualControls);
        }

        if (car.WhyNot(during, day.Date) is { } problem)
        {
            return NoCar(problem);
        }

        return car.IsTaken(during, byOtherThan: lesson.Id)
            ? new(SlotRule.CarBusy, "The car is taken by another lesson at that time. Choose another car or move the lesson.")
            : null;
    }

    private static SlotRefusal NoCar(string problem) =>
        new(SlotRule.NoSuitableCar, $"The car {problem}. Choose another car or move the lesson.");
}
