using Google.OrTools.Sat;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Pupils;
using School.Core.Travel;

namespace School.Core.Tests.Diary.Slots;

/// <summary>
/// The rules of slot search as constraints for the CP-SAT solver (Google OR-Tools), for one instructor and one date
/// without a clock change, travel that does not depend on the hour, and entries that are placed lessons or busy time.
/// Minutes count from local midnight.
/// </summary>
internal sealed class SlotModel
{
    private const int Day = 1440;
    private readonly CpModel model = new();
    private readonly DiaryPicture picture;
    private readonly LessonWish wish;
    private readonly InstructorDiary diary;
    private readonly ITravelTimes travel;
    private readonly LocalDate date;
    private readonly Instant midnight;
    private readonly IntVar start;
    private readonly List<DiaryEntry> entries;
    private IReadOnlyList<LessonBreak>? planned;

    private SlotModel(DiaryPicture picture, LessonWish wish, ITravelTimes travel)
    {
        (this.picture, this.wish, this.travel, diary, date) = (picture, wish, travel, picture.Instructors.Single(), wish.From);
        midnight = picture.Zone.AtStartOfDay(date).ToInstant();
        entries = [.. diary.Entries.Where(entry => entry.Id != wish.MovingLessonId).OrderBy(entry => entry.During.Start)];
        var grid = Enumerable.Range(0, Day / picture.Rules.GridMinutes).Select(i => (long)i * picture.Rules.GridMinutes);
        start = model.NewIntVarFromDomain(Google.OrTools.Util.Domain.FromValues([.. grid]), "start");
        FactsOfTheDate();
        WorkingHoursAndOverlaps();
        LegsAndRest();
        CarsHeld();
    }

    /// <summary>Every start that satisfies the model.</summary>
    public static SortedSet<long> Starts(DiaryPicture picture, LessonWish wish, ITravelTimes travel)
    {
        var built = new SlotModel(picture, wish, travel);
        var collect = new Collect(built.start);
        var solver = new CpSolver { StringParameters = "enumerate_all_solutions:true num_workers:1" };
        var status = solver.Solve(built.model, collect);
        return status is CpSolverStatus.Optimal or CpSolverStatus.Infeasible
            ? collect.Starts
            : throw new InvalidOperationException($"The solver ended with {status}.");
    }

    private void FactsOfTheDate()
    {
        var (rules, pupil, who) = (picture.Rules, wish.Pupil, diary.Instructor);
        var age = pupil.MobilityAward ? Math.Min(rules.MinimumAge, rules.MinimumAgeWithMobilityAward) : rules.MinimumAge;
        var monday = date.With(DateAdjusters.PreviousOrSame(IsoDayOfWeek.Monday));
        var otherInWeek = pupil.Lessons.Where(lesson => lesson.Id != wish.MovingLessonId)
            .Where(lesson => lesson.During.Start.InZone(picture.Zone).Date is var day && day >= monday && day < monday.PlusWeeks(1));
        int[] limits = [rules.DailyTeachingMinutes, who.DailyTeachingMinutes ?? Day,
            who.Kind == RegistrationKind.Trainee ? rules.TraineeDailyTeachingMinutes ?? Day : Day];

        Require(rules.LengthsOf(wish.Kind).Contains(wish.Minutes) || wish.AnyStart || wish.MovingLessonId is not null);
        Require(Elapsed <= LessonPlan.LongestElapsed);
        Require(!rules.OnlyInServedAreas || RandomAreas.Serves(who, wish.PickUpAreaId));
        Require(wish.Kind != LessonKind.Motorway || !LicenceOracle.IsLearner(pupil) || who.Kind == RegistrationKind.Approved);
        Require(wish.Kind != LessonKind.TestDay || pupil.Lessons.Any(lesson => lesson.IsTest && lesson.During.Start.InZone(picture.Zone).Date == date));
        Require(pupil.BirthDate!.Value.PlusYears(age) <= date);
        var papers = (wish.NoticeApplies && wish.MovingLessonId is null) || wish.Kind is LessonKind.Motorway or LessonKind.TestDay;
        Require(papers ? pupil.Missing == 0 : (pupil.Missing & (FirstLessonNeeds.PickUp | FirstLessonNeeds.Gearbox)) == 0);
        Require(pupil.Licence is null && !papers ? !(pupil.EyesightFailedOn <= date) : LicenceOracle.Broken(pupil, date) is null);
        Require(who.Teaches.Contains(pupil.Gearbox));
        Require(!(who.RegisteredFrom > date) && who.RegisteredTo >= date);
        Require(!(otherInWeek.Where(lesson => !lesson.IsTest).Sum(lesson => Length(lesson.During) - lesson.BreakMinutes) + wish.Minutes > pupil.WeeklyMinutes));
        Require(entries.Where(IsLesson).Sum(entry => Length(entry.During) - entry.Breaks.Sum(rest => rest.Minutes)) + wish.Minutes <= limits.Min());
        model.Add(start >= Minute(picture.Now));
        if (wish.NoticeApplies)
        {
            model.Add(start >= Minute(picture.Now) + rules.NoticeToBookHours * 60);
            Require(date <= picture.Now.InZone(picture.Zone).Date.PlusDays(rules.HorizonDays));
        }
    }

    private void WorkingHoursAndOverlaps()
    {
        var inSpan = new List<ILiteral>();
        foreach (var (from, to) in Spans())
        {
            var inside = model.NewBoolVar("inside");
            model.Add(start >= from).OnlyEnforceIf(inside);
            model.Add(start + Elapsed <= to).OnlyEnforceIf(inside);
            inSpan.Add(inside);
        }
        if (inSpan.Count == 0)
        {
            Require(false);
        }
        else
        {
            model.AddExactlyOne(inSpan);
        }

        var ours = model.NewFixedSizeIntervalVar(start, Elapsed, "lesson");
        var taken = entries.Select(entry => entry.During).Concat(diary.TimeOff)
            .Concat(wish.Pupil.Lessons.Where(lesson => lesson.Id != wish.MovingLessonId).Select(lesson => lesson.During));
        foreach (var other in taken)
        {
            model.AddNoOverlap([ours, Fixed(other)]);
        }
    }

    /// <summary>Exactly one position among the placed lessons is taken; each brings its legs and its chain of work.</summary>
    private void LegsAndRest()
    {
        var lessons = entries.Where(IsLesson).ToList();
        var positions = new List<ILiteral>();
        for (var at = 0; at <= lessons.Count; at++)
        {
            var here = model.NewBoolVar($"position {at}");
            positions.Add(here);
            var (before, after) = (at > 0 ? lessons[at - 1] : null, at < lessons.Count ? lessons[at] : null);
            if (before is not null)
            {
                model.Add(start >= Minute(before.During.End)).OnlyEnforceIf(here);
            }

            if (after is not null)
            {
                model.Add(start + Elapsed <= Minute(after.During.Start)).OnlyEnforceIf(here);
            }

            var legIn = Leg(before?.Ends ?? diary.Instructor.Base, wish.PickUp);
            var legOut = Leg(wish.DropOff, after?.Begins ?? diary.Instructor.Base);
            Drives(here, before, after, legIn, legOut);
            if (picture.Rules.RestMinutes > 0)
            {
                Rests(here, lessons, at, legIn, legOut);
            }
        }
        model.AddExactlyOne(positions);
    }

    private void Drives(BoolVar here, DiaryEntry? before, DiaryEntry? after, int legIn, int legOut)
    {
        var (rules, spans) = (picture.Rules, Spans());
        if (spans.Count > 0 && (before is not null || rules.FirstLegIsWork))
        {
            var from = before is null ? spans[0].From : Minute(before.During.End);
            var blocked = LinearExpr.Sum(Blocks().Select(block => Clamp(start, block) - Clamp(from, block)));
            model.Add(start - from - blocked >= legIn + rules.BufferMinutes).OnlyEnforceIf(here);
        }
        if (spans.Count > 0 && (after is not null || rules.LastLegIsWork))
        {
            var until = after is null ? spans[^1].To : Minute(after.During.Start);
            var blocked = LinearExpr.Sum(Blocks().Select(block => Clamp(until, block) - Clamp(start + Elapsed, block)));
            model.Add(until - start - Elapsed - blocked >= legOut + rules.BufferMinutes).OnlyEnforceIf(here);
        }
    }

    private void Rests(BoolVar here, List<DiaryEntry> lessons, int at, int legIn, int legOut)
    {
        var rules = picture.Rules;
        var first = at == 0 ? legIn : Leg(diary.Instructor.Base, lessons[0].Begins!.Value);
        var worked = LinearExpr.Constant(rules.FirstLegIsWork ? first : 0);
        for (var i = 0; i <= lessons.Count; i++)
        {
            // Day with the newcomer at position `at`: item i, and how it is reached from item i − 1.
            if (i > 0)
            {
                var drive = i == at ? legIn : i == at + 1 ? legOut : Leg(Lesson(i - 1).Ends!.Value, Lesson(i).Begins!.Value);
                var idle = Begin(i) - End(i - 1) - drive;
                var rests = model.NewBoolVar("rests");
                model.Add(idle >= rules.RestMinutes).OnlyEnforceIf([here, rests]);
                model.Add(idle < rules.RestMinutes).OnlyEnforceIf([here, rests.Not()]);
                model.Add(worked < rules.RestAfterMinutes).OnlyEnforceIf([here, rests.Not()]);
                var carried = model.NewIntVar(0, 4 * Day, "carried");
                model.Add(carried == 0).OnlyEnforceIf(rests);
                model.Add(carried == worked + drive).OnlyEnforceIf([here, rests.Not()]);
                // Nothing of this matters when the position is another one: fix it, so that each start is found once.
                model.AddImplication(here.Not(), rests);
                worked = LinearExpr.Affine(carried, 1, 0);
            }
            // A rest within a lesson ends the count, however long one would have to be by now.
            var (breaks, length) = i == at ? (Planned(), Elapsed) : (Lesson(i).Breaks, Length(Lesson(i).During));
            worked = breaks.Count == 0 ? worked + length : LinearExpr.Constant(length - breaks[^1].After - breaks[^1].Minutes);
        }

        DiaryEntry Lesson(int i) => lessons[i < at ? i : i - 1];
        LinearExpr Begin(int i) => i == at ? LinearExpr.Affine(start, 1, 0) : LinearExpr.Constant(Minute(Lesson(i).During.Start));
        LinearExpr End(int i) => i == at ? start + Elapsed : LinearExpr.Constant(Minute(Lesson(i).During.End));
    }

    /// <summary>The rests as the solver plans them: few first, then the shortest longest stretch, then the longest shortest one.</summary>
    private IReadOnlyList<LessonBreak> Planned() => planned ??= BreakModel.Plan(wish.Minutes, picture.Rules);

    private long Elapsed => wish.Minutes + Planned().Sum(rest => rest.Minutes);

    private void CarsHeld()
    {
        var chosen = new List<ILiteral>();
        foreach (var car in picture.Cars.Where(IsInOrder))
        {
            foreach (var (from, to) in Union(diary.Holds
                .Where(hold => hold.CarId == car.Id && hold.InstructorId == diary.Instructor.Id).Select(hold => Ends(hold.During))))
            {
                var drives = model.NewBoolVar("car");
                chosen.Add(drives);
                model.Add(start >= from).OnlyEnforceIf(drives);
                model.Add(start + Elapsed <= to).OnlyEnforceIf(drives);
                var ours = model.NewOptionalFixedSizeIntervalVar(start, Elapsed, drives, "in car");
                var busy = picture.CarBusy.Where(busy => busy.CarId == car.Id && busy.LessonId != wish.MovingLessonId).Select(busy => busy.During);
                foreach (var other in busy.Concat(car.OffRoad))
                {
                    model.AddNoOverlap([ours, Fixed(other)]);
                }
            }
        }
        if (chosen.Count == 0)
        {
            Require(false);
        }
        else
        {
            model.AddExactlyOne(chosen);
        }
    }

    private bool IsInOrder(CarFacts car) =>
        car.Gearbox == wish.Pupil.Gearbox
        && (car.DualControls || !(wish.Pupil.NeedsDualControls || (wish.Kind == LessonKind.Motorway && LicenceOracle.IsLearner(wish.Pupil))))
        && car.FirstRegistered <= date
        && (car.FirstRegistered.PlusYears(3) > date || car.MotExpires >= date)
        && !(car.TaxExpires < date) && !(car.InsuranceExpires < date) && !(car.ServiceDue < date);

    private List<(long From, long To)> Spans() => Union(diary.Hours
        .Where(hours => hours.Day == date.DayOfWeek && hours.From <= date && !(hours.To < date))
        .Select(hours => (Of(hours.Start), hours.End == LocalTime.Midnight ? Day : Of(hours.End))));

    private List<(long From, long To)> Blocks() =>
        Union(diary.TimeOff.Concat(entries.Where(entry => !IsLesson(entry)).Select(entry => entry.During)).Select(Ends));

    private static List<(long From, long To)> Union(IEnumerable<(long From, long To)> parts)
    {
        var union = new List<(long From, long To)>();
        foreach (var (from, to) in parts.Order())
        {
            if (union.Count > 0 && from <= union[^1].To)
            {
                union[^1] = (union[^1].From, Math.Max(union[^1].To, to));
            }
            else
            {
                union.Add((from, to));
            }
        }
        return union;
    }

    private LinearExpr Clamp(LinearExpr value, (long From, long To) block)
    {
        var (raised, clamped) = (model.NewIntVar(-2 * Day, 4 * Day, "raised"), model.NewIntVar(-2 * Day, 4 * Day, "clamped"));
        model.AddMaxEquality(raised, [value, LinearExpr.Constant(block.From)]);
        model.AddMinEquality(clamped, [LinearExpr.Affine(raised, 1, 0), LinearExpr.Constant(block.To)]);
        return LinearExpr.Affine(clamped, 1, 0);
    }

    private static long Clamp(long value, (long From, long To) block) => Math.Clamp(value, block.From, block.To);

    private IntervalVar Fixed(Interval interval)
    {
        var (from, to) = Ends(interval);
        return model.NewFixedSizeIntervalVar(from, to - from, "fixed");
    }

    private (long From, long To) Ends(Interval interval) => (
        interval.HasStart ? Math.Clamp(Minute(interval.Start), -Day, 3 * Day) : -Day,
        interval.HasEnd ? Math.Clamp(Minute(interval.End), -Day, 3 * Day) : 3 * Day);

    private void Require(bool fact)
    {
        if (!fact)
        {
            model.AddBoolOr(Array.Empty<ILiteral>());
        }
    }

    private static bool IsLesson(DiaryEntry entry) => entry.Kind == EntryKind.Lesson;

    private int Leg(Coordinates from, Coordinates to) => travel.Between(from, to, date.AtMidnight()).Minutes;

    private long Minute(Instant instant) => (long)(instant - midnight).TotalMinutes;

    private static long Of(LocalTime time) => time.Hour * 60 + time.Minute;

    private static long Length(Interval interval) => (long)interval.Duration.TotalMinutes;

    private sealed class Collect(IntVar start) : CpSolverSolutionCallback
    {
        public SortedSet<long> Starts { get; } = [];

        public override void OnSolutionCallback() => Starts.Add(Value(start));
    }
}
