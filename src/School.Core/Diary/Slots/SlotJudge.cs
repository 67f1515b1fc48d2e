using NodaTime;
using School.Core.Diary.Time;
using School.Core.Pupils;

namespace School.Core.Diary.Slots;

/// <summary>What one start comes to: the first rule broken, or what the lesson would cost.</summary>
/// <param name="Broken">The rule, or null.</param>
/// <param name="NeedMinutes">For a broken limit or drive: what it would take.</param>
/// <param name="HaveMinutes">For a broken limit or drive: what there is.</param>
/// <param name="CarId">The car chosen.</param>
/// <param name="ExtraDriving">Minutes of driving added to the day.</param>
/// <param name="UnusableGap">Minutes left beside the lesson that no lesson fits.</param>
/// <param name="Fills">When the lesson leaves less than a grid step between its neighbours: when the next one begins.</param>
internal readonly record struct Judgement(
    SlotRule? Broken, int NeedMinutes = 0, int HaveMinutes = 0, Guid CarId = default, int ExtraDriving = 0, int UnusableGap = 0,
    Instant? Fills = null)
{
    public static implicit operator Judgement(SlotRule broken) => new(broken);
}

/// <summary>Judges starts of one wish on one date of one instructor, by the rules of <see cref="SlotSearch"/>.</summary>
internal sealed class SlotJudge(
    DiaryPicture picture, LessonWish wish, InstructorDiary diary, LocalDate date, HeldCars cars, Legs legs)
{
    private readonly DiaryRules rules = picture.Rules;
    private readonly InstructorFacts instructor = diary.Instructor;
    private readonly DayTimeline day = new(picture.Zone, diary, date, wish.MovingLessonId);
    private readonly LocalDate lastDate = picture.Now.InZone(picture.Zone).Date.PlusDays(picture.Rules.HorizonDays);
    private readonly Instant noticeEnds = picture.Now + Duration.FromHours(picture.Rules.NoticeToBookHours);
    private readonly IReadOnlyList<LessonBreak> breaks = wish.KeptBreaks ?? LessonPlan.Of(wish.Minutes, picture.Rules).Breaks;
    private readonly int shortest = picture.Rules.ShortestElapsed();
    private readonly List<PupilLesson> pupilLessons = [.. wish.Pupil.Lessons.Where(lesson => lesson.Id != wish.MovingLessonId)];
    private readonly int pupilsWeek = Weeks.Minutes(wish.Pupil.Lessons, Weeks.Of(date, picture.Zone), wish.MovingLessonId);

    public DayTimeline Day => day;

    /// <summary>Judges a start that lies on the date.</summary>
    public Judgement Judge(Instant start)
    {
        if (TimingRule(start) is { } timing)
        {
            return timing;
        }

        if (RuleOfPeople(wish, instructor, date, day.Day, rules) is { } people)
        {
            return people;
        }

        var lesson = new Stretch(start, start + Duration.FromMinutes(wish.Minutes + breaks.Sum(rest => rest.Minutes)));
        if (!day.IsInsideOneSpan(lesson))
        {
            return SlotRule.OutsideWorkingHours;
        }

        if (day.IsTimeOff(lesson))
        {
            return SlotRule.TimeOff;
        }

        if (day.IsTaken(lesson))
        {
            return SlotRule.InstructorBusy;
        }

        if (pupilLessons.Exists(other => lesson.Overlaps(Stretch.Of(other.During))))
        {
            return SlotRule.PupilBusy;
        }

        var week = pupilsWeek + wish.Minutes;
        if (week > wish.Pupil.WeeklyMinutes)
        {
            return new(SlotRule.WeeklyLimit, week, wish.Pupil.WeeklyMinutes.Value);
        }

        var taught = day.Taught.CeilingMinutes() + wish.Minutes;
        if (taught > instructor.DailyLimit(rules))
        {
            return new(SlotRule.DailyLimit, taught, instructor.DailyLimit(rules));
        }

        return JudgeInPlace(lesson);
    }

    /// <summary>The first rule about the pupil and the instructor that the date breaks.</summary>
    public static SlotRule? RuleOfPeople(LessonWish wish, InstructorFacts instructor, LocalDate date, Stretch day, DiaryRules rules) =>
        LearnerRules.Broken(wish.Pupil, date, rules, wish.AsksFirst) is { } eligibility ? eligibility
        : !instructor.Teaches.Contains(wish.Pupil.Gearbox) ? SlotRule.WrongGearbox
        : !instructor.IsRegisteredOn(date) ? SlotRule.InstructorNotRegistered
        : rules.OnlyInServedAreas && !instructor.ServesPlaceIn(wish.PickUpAreaId) ? SlotRule.OutsideServedAreas
        : instructor.Kind != RegistrationKind.Approved && wish.IsBoundOn(date) ? SlotRule.MotorwayNeedsAdi
        : wish.Kind == LessonKind.TestDay && !wish.Pupil.HasTestIn(day) ? SlotRule.NoTestThatDay
        : null;

    /// <summary>Whether the school gives lessons of the length wished for; one that is moved keeps the length that was agreed.</summary>
    public static bool LengthIsOffered(LessonWish wish, DiaryRules rules) =>
        wish.Minutes > 0 && LessonPlan.Of(wish.Minutes, rules).Elapsed <= LessonPlan.LongestElapsed && (wish.AnyStart || wish.MovingLessonId is not null || rules.LengthsOf(wish.Kind).Contains(wish.Minutes));

    private SlotRule? TimingRule(Instant start)
    {
        if (start < picture.Now)
        {
            return SlotRule.InThePast;
        }

        if (!wish.AnyStart && !IsOnGrid(start))
        {
            return SlotRule.OffTheGrid;
        }

        if (!LengthIsOffered(wish, rules))
        {
            return SlotRule.LengthNotOffered;
        }

        if (!wish.NoticeApplies)
        {
            return null;
        }

        return start < noticeEnds ? SlotRule.InsideNotice : date > lastDate ? SlotRule.BeyondHorizon : null;
    }

    private bool IsOnGrid(Instant start) =>
        start.InZone(picture.Zone).TimeOfDay.NanosecondOfDay % (rules.GridMinutes * NodaConstants.NanosecondsPerMinute) == 0;

    private Judgement JudgeInPlace(Stretch lesson)
    {
        var gap = day.GapAt(lesson);
        var before = SideBefore(gap, lesson);
        if (before.Free < before.Need)
        {
            return new(SlotRule.NoTimeToGetThere, before.Need.CeilingMinutes(), before.Free.WholeMinutes());
        }

        var after = SideAfter(gap, lesson);
        if (after.Free < after.Need)
        {
            return new(SlotRule.NoTimeToGetThere, after.Need.CeilingMinutes(), after.Free.WholeMinutes());
        }

        if (RestRule.FirstWithoutRest(WorkWith(lesson, before.Leg, after.Leg), rules) is not null)
        {
            return SlotRule.RestNeeded;
        }

        var bound = wish.IsBoundOn(date);
        var keeps = wish.OwnCarId is { } own && cars.Choose(lesson, date, wish.Pupil, bound, own, null).CarId == own;
        var (carId, broken) = cars.Choose(lesson, date, wish.Pupil, bound, keeps ? wish.OwnCarId : gap.Before?.CarId, gap.After?.CarId);
        if (broken is { } rule)
        {
            return rule;
        }

        var extra = Math.Max(0, before.Leg + after.Leg - gap.DirectLeg(instructor.Base, legs, rules));
        var fills = before.Left + after.Left < rules.GridMinutes && gap.Before is not null ? gap.After?.During.Start : null;
        return new(null, CarId: carId, ExtraDriving: extra, UnusableGap: Unusable(before.Left) + Unusable(after.Left), Fills: fills);
    }

    private Side SideBefore(Gap gap, Stretch lesson)
    {
        if (gap.Before is { } before)
        {
            var leg = legs.Minutes(before.Ends!.Value, wish.PickUp, before.During.End);
            return new(leg, Need(true, leg), day.Free(before.During.End, lesson.Start), day.FreeWorking(before.During.End, lesson.Start));
        }

        var first = legs.Latest(instructor.Base, wish.PickUp, lesson.Start - Duration.FromMinutes(rules.BufferMinutes));
        return new(
            first.Leg.Minutes, rules.FirstLegIsWork ? day.NeedFirst(first, lesson.Start, rules) : Duration.Zero,
            day.Free(day.WorkBegins, lesson.Start), day.FreeWorking(day.WorkBegins, lesson.Start));
    }

    private Side SideAfter(Gap gap, Stretch lesson)
    {
        var leg = legs.Minutes(wish.DropOff, gap.After?.Begins ?? instructor.Base, lesson.End);
        var until = gap.After?.During.Start ?? day.WorkEnds;
        return new(leg, Need(gap.After is not null || rules.LastLegIsWork, leg),
            day.Free(lesson.End, until), day.FreeWorking(lesson.End, until));
    }

    private Duration Need(bool counts, int leg) => counts ? Duration.FromMinutes(leg + rules.BufferMinutes) : Duration.Zero;

    private int Unusable(int left) => left < shortest ? left : 0;

    private List<WorkItem> WorkWith(Stretch lesson, int legBefore, int legAfter)
    {
        var items = day.Work(instructor.Base, legs, rules);
        var at = items.FindIndex(item => item.During.Start >= lesson.End);
        if (at < 0)
        {
            at = items.Count;
        }

        var stretches = new DiaryEntry(Guid.Empty, EntryKind.Lesson, new(lesson.Start, lesson.End), null, null, null, null) { Breaks = breaks }.Stretches();
        items.InsertRange(at, stretches.Select((stretch, number) => new WorkItem(stretch, true, number == 0 ? legBefore : 0, GoesOn: number > 0)));
        var next = items.FindIndex(at + breaks.Count + 1, item => item.Entry!.IsPlaced);
        if (next >= 0)
        {
            items[next] = items[next] with { DriveTo = legAfter };
        }

        return items;
    }

    /// <summary>One side of the lesson: the leg, the time it takes up, and the time there is.</summary>
    private readonly record struct Side(int Leg, Duration Need, Duration Free, Duration FreeWorking)
    {
        /// <summary>Whole minutes of work that are left.</summary>
        public int Left => Duration.Min(Free - Need, FreeWorking).WholeMinutes();
    }
}
