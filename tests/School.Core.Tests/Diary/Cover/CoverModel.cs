using Google.OrTools.Sat;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Cover;
using School.Core.Diary.Slots;
using School.Core.Tests.Diary.Slots;
using School.Core.Travel;

namespace School.Core.Tests.Diary.Cover;

/// <summary>
/// Cover of one date as one plain model for CP-SAT, to hold the program of the product against: a circuit for each instructor over the
/// lessons that stay and every lesson at every start, without columns. Source: the rules in the documentation of SlotSearch. Wants
/// everything on whole minutes, every lesson with places, and other entries without.
/// </summary>
internal sealed class CoverModel(CoverProblem problem, ITravelTimes travel)
{
    private readonly DiaryPicture picture = problem.Picture;
    private readonly DiaryRules rules = problem.Picture.Rules;
    private readonly HashSet<Guid> ids = [.. problem.Lessons.Select(lesson => lesson.Id)];
    private readonly CpModel model = new();
    private readonly List<(int Lesson, long Start, BoolVar Taken)> options = [];
    private readonly List<LinearExpr> added = [];
    private readonly List<LinearExpr> changed = [];

    private sealed record Node(long Start, long End, Coordinates Begins, Coordinates Ends, int Lesson, IReadOnlyList<LessonBreak> Rests)
    {
        public long Taught => End - Start - Rests.Sum(rest => rest.Minutes);

        /// <summary>What is taught after the last rest within it. Every rest here is long enough.</summary>
        public long Last => Rests.Count == 0 ? End - Start : End - Start - Rests[^1].After - Rests[^1].Minutes;
    }

    /// <summary>The least cost, and whether the solver proved it in time.</summary>
    public (CoverCost Cost, bool Proven) Solve(int workers, double seconds)
    {
        foreach (var diary in picture.Instructors)
        {
            AddDay(diary);
        }

        for (var lesson = 0; lesson < problem.Lessons.Count; lesson++)
        {
            model.AddAtMostOne(options.Where(option => option.Lesson == lesson).Select(option => (ILiteral)option.Taken));
        }

        KeepPupilsInOnePlace();

        var count = problem.Lessons.Count;
        var covered = LinearExpr.Sum(options.Select(option => option.Taken));
        var moved = LinearExpr.Sum(options.Where(option => By(option) > 0).Select(option => option.Taken));
        var minutes = LinearExpr.WeightedSum(options.Select(option => option.Taken), options.Select(By));
        var (forChanged, forMinutes) = (1000L * count, 1000L * count * (count + 1));
        var forMoved = forMinutes * (1440 * count + 1);
        var forUncovered = forMoved * (count + 1);
        model.Minimize((count - covered) * forUncovered + moved * forMoved + minutes * forMinutes
            + LinearExpr.Sum(changed) * forChanged + LinearExpr.Sum(added));
        var solver = new CpSolver { StringParameters = $"num_search_workers:{workers},max_time_in_seconds:{seconds},random_seed:1" };
        var status = solver.Solve(model);
        if (status is not (CpSolverStatus.Optimal or CpSolverStatus.Feasible))
        {
            return (default, false);
        }

        return (
            new(
                count - (int)solver.Value(covered), (int)solver.Value(moved), (int)solver.Value(minutes),
                (int)changed.Sum(solver.Value), (int)added.Sum(solver.Value)),
            status == CpSolverStatus.Optimal);
    }

    private void AddDay(InstructorDiary diary)
    {
        var (who, home) = (diary.Instructor, diary.Instructor.Base);
        var date = problem.Lessons[0].During.Start.InZone(picture.Zone).Date;
        var kept = diary.Entries.Where(entry => !ids.Contains(entry.Id) && entry.During.Start.InZone(picture.Zone).Date == date).ToList();
        var fixedNodes = kept.Where(entry => entry.Begins is not null).OrderBy(entry => entry.During.Start)
            .Select(entry => new Node(Minute(entry.During.Start), Minute(entry.During.End), entry.Begins!.Value, entry.Ends!.Value, -1, entry.Breaks)).ToList();
        var working = diary.Hours.Where(hours => hours.AppliesOn(date)).Select(hours => hours.During(date, picture.Zone)).SelectMany(Minutes).ToHashSet();
        var blocked = diary.TimeOff.Concat(kept.Where(entry => entry.Begins is null).Select(entry => entry.During)).SelectMany(Minutes).ToHashSet();
        var nodes = fixedNodes.Concat(OptionsOf(diary, date, kept, working)).ToList();
        if (nodes.Count == fixedNodes.Count)
        {
            return;
        }

        var taken = nodes.Select(node => node.Lesson < 0 ? null : model.NewBoolVar("")).ToList();
        for (var i = fixedNodes.Count; i < nodes.Count; i++)
        {
            options.Add((nodes[i].Lesson, nodes[i].Start, taken[i]!));
            if (problem.Lessons[nodes[i].Lesson].InstructorId != who.Id)
            {
                changed.Add(taken[i]!);
            }
        }
        var any = model.NewBoolVar("");
        model.AddMaxEquality(any, taken.Where(t => t is not null).Select(t => (LinearExpr)t!));
        var limit = Math.Min(rules.DailyTeachingMinutes, who.DailyTeachingMinutes ?? int.MaxValue);
        if (who.Kind == RegistrationKind.Trainee)
        {
            limit = Math.Min(limit, rules.TraineeDailyTeachingMinutes ?? int.MaxValue);
        }

        var already = fixedNodes.Sum(node => node.Taught);
        model.Add(LinearExpr.Sum(Enumerable.Range(fixedNodes.Count, nodes.Count - fixedNodes.Count)
            .Select(i => taken[i]! * nodes[i].Taught)) <= Math.Max(0, limit - already));

        var worked = nodes.Select(_ => model.NewIntVar(0, 3000, "")).ToList();
        var circuit = model.AddCircuit();
        var (arcs, legs) = (new List<BoolVar>(), new List<long>());
        for (var i = 0; i < nodes.Count; i++)
        {
            if (taken[i] is { } on)
            {
                circuit.AddArc(i + 1, i + 1, on.Not());
            }

            FromHome(i);
            ToHome(i);
            for (var k = 0; k < nodes.Count; k++)
            {
                if (nodes[i].End <= nodes[k].Start && !fixedNodes.Exists(node => node.Start >= nodes[i].End && node.End <= nodes[k].Start && node != nodes[k] && node != nodes[i]))
                {
                    Between(i, k);
                }
            }
        }
        if (fixedNodes.Count == 0)
        {
            circuit.AddArc(0, 0, any.Not());
        }

        var before = 0L;
        for (var i = 0; i < fixedNodes.Count; i++)
        {
            before += i == 0 ? FirstDrive(home, fixedNodes[0]).Leg : Leg(fixedNodes[i - 1].Ends, fixedNodes[i].Begins, fixedNodes[i - 1].End);
        }

        if (fixedNodes.Count > 0)
        {
            before += Leg(fixedNodes[^1].Ends, home, fixedNodes[^1].End);
        }

        var more = model.NewIntVar(0, 5000, "");
        model.Add(more >= LinearExpr.WeightedSum(arcs, legs) - before);
        added.Add(more);

        long Free(long from, long until) => from > until ? from - until == 0 ? 0 : -1 : Enumerable.Range(0, (int)(until - from)).Count(m => !blocked.Contains(from + m));

        BoolVar Arc(int from, int to, long leg)
        {
            var arc = model.NewBoolVar("");
            circuit.AddArc(from, to, arc);
            arcs.Add(arc);
            legs.Add(leg);
            return arc;
        }

        void FromHome(int i)
        {
            var (leg, leaves) = FirstDrive(home, nodes[i]);
            if (nodes[i].Lesson >= 0 && rules.FirstLegIsWork
                && (leaves < working.Min() || Free(working.Min(), nodes[i].Start) < leg + rules.BufferMinutes))
            {
                return;
            }

            model.Add(worked[i] >= nodes[i].Last + (rules.FirstLegIsWork && nodes[i].Rests.Count == 0 ? leg : 0)).OnlyEnforceIf(Arc(0, i + 1, leg));
        }

        void ToHome(int i)
        {
            var leg = Leg(nodes[i].Ends, home, nodes[i].End);
            if (nodes[i].Lesson < 0 || !rules.LastLegIsWork || Free(nodes[i].End, working.Max() + 1) >= leg + rules.BufferMinutes)
            {
                Arc(i + 1, 0, leg);
            }
        }

        void Between(int i, int k)
        {
            var leg = Leg(nodes[i].Ends, nodes[k].Begins, nodes[i].End);
            if ((nodes[i].Lesson >= 0 || nodes[k].Lesson >= 0) && Free(nodes[i].End, nodes[k].Start) < leg + rules.BufferMinutes)
            {
                return;
            }

            var (arc, length) = (Arc(i + 1, k + 1, leg), nodes[k].Last);
            if (rules.RestMinutes == 0 || nodes[k].Start - nodes[i].End - leg >= rules.RestMinutes)
            {
                model.Add(worked[k] >= length).OnlyEnforceIf(arc);
                return;
            }
            if (nodes[k].Rests.Count > 0)
            {
                model.Add(worked[k] >= length).OnlyEnforceIf(arc);
            }
            else
            {
                model.Add(worked[k] >= worked[i] + leg + length).OnlyEnforceIf(arc);
            }

            model.Add(worked[i] < rules.RestAfterMinutes).OnlyEnforceIf([arc, any]);
        }
    }

    /// <summary>Leaving base at the last minute that is there the buffer before the start, looked for minute by minute.</summary>
    private (long Leg, long Leaves) FirstDrive(Coordinates home, Node node)
    {
        var leaves = node.Start - rules.BufferMinutes;
        while (leaves + Leg(home, node.Begins, leaves) > node.Start - rules.BufferMinutes)
        {
            leaves--;
        }

        return (Leg(home, node.Begins, leaves), leaves);
    }

    private IEnumerable<Node> OptionsOf(InstructorDiary diary, LocalDate date, List<DiaryEntry> kept, HashSet<long> working)
    {
        for (var index = 0; index < problem.Lessons.Count; index++)
        {
            var lesson = problem.Lessons[index];
            var (pupil, length) = (lesson.Pupil, Minute(lesson.During.End) - Minute(lesson.During.Start));
            var monday = date.PlusDays(1).Previous(IsoDayOfWeek.Monday);
            var week = pupil.Lessons.Where(own => own.During.Start.InZone(picture.Zone).Date is var on && on >= monday && on < monday.PlusDays(7))
                .Where(own => own.Id == lesson.Id || !ids.Contains(own.Id)).Sum(own => own.During.Duration.TotalMinutes - own.BreakMinutes);
            if (!diary.Instructor.Teaches.Contains(pupil.Gearbox) || date < diary.Instructor.RegisteredFrom || date > diary.Instructor.RegisteredTo
                || (rules.OnlyInServedAreas && !RandomAreas.Serves(diary.Instructor, lesson.PickUpAreaId))
                || week > pupil.WeeklyMinutes || (lesson.Kind == LessonKind.Motorway && LicenceOracle.IsLearner(pupil) && diary.Instructor.Kind == RegistrationKind.Trainee))
            {
                continue;
            }

            var midnight = Minute(date.AtStartOfDayInZone(picture.Zone).ToInstant());
            for (var start = midnight; start < midnight + 1440; start++)
            {
                var during = new Interval(At(start), At(start + length));
                var own = start == Minute(lesson.During.Start);
                if (!own && ((start - midnight) % rules.GridMinutes != 0 || !lesson.Windows.Any(window => window.Start <= during.Start && during.End <= window.End)))
                {
                    continue;
                }

                if (during.Start >= picture.Now && Minutes(during).All(working.Contains)
                    && !diary.TimeOff.Concat(kept.Select(entry => entry.During)).Any(other => Overlap(other, during))
                    && !pupil.Lessons.Any(other => !ids.Contains(other.Id) && Overlap(other.During, during))
                    && picture.Cars.Any(car => IsSuitable(car, diary, pupil.Gearbox, pupil.NeedsDualControls || (lesson.Kind == LessonKind.Motorway && LicenceOracle.IsLearner(pupil)), date, during)))
                {
                    yield return new(start, start + length, lesson.PickUp, lesson.DropOff, index, lesson.Breaks);
                }
            }
        }
    }

    private bool IsSuitable(CarFacts car, InstructorDiary diary, Gearbox gearbox, bool dual, LocalDate date, Interval during) =>
        car.Gearbox == gearbox && (car.DualControls || !dual) && car.WhyNotOn(date) is null && !car.OffRoad.Any(off => Overlap(off, during))
        && diary.Holds.Any(hold => hold.CarId == car.Id && hold.InstructorId == diary.Instructor.Id && hold.During.Contains(during.Start) && (!hold.During.HasEnd || during.End <= hold.During.End))
        && !picture.CarBusy.Any(busy => busy.CarId == car.Id && !ids.Contains(busy.LessonId) && Overlap(busy.During, during));

    private void KeepPupilsInOnePlace()
    {
        for (var i = 0; i < options.Count; i++)
        {
            for (var k = 0; k < i; k++)
            {
                var (one, other) = (problem.Lessons[options[i].Lesson], problem.Lessons[options[k].Lesson]);
                if (options[i].Lesson != options[k].Lesson && one.Pupil.Id == other.Pupil.Id
                    && options[i].Start < options[k].Start + other.During.Duration.TotalMinutes && options[k].Start < options[i].Start + one.During.Duration.TotalMinutes)
                {
                    model.AddAtMostOne([options[i].Taken, options[k].Taken]);
                }
            }
        }
    }

    private long By((int Lesson, long Start, BoolVar Taken) option) => Math.Abs(option.Start - Minute(problem.Lessons[option.Lesson].During.Start));

    private long Leg(Coordinates from, Coordinates to, long leaving) => travel.Between(from, to, At(leaving).InZone(picture.Zone).LocalDateTime).Minutes;

    private static bool Overlap(Interval one, Interval other) =>
        (!one.HasStart || one.Start < other.End) && (!one.HasEnd || other.Start < one.End);

    private static IEnumerable<long> Minutes(Interval during)
    {
        for (var minute = Minute(during.Start); minute < Minute(during.End); minute++)
        {
            yield return minute;
        }
    }

    private static Instant At(long minute) => Instant.FromUnixTimeSeconds(minute * 60);

    private static long Minute(Instant instant) => instant.ToUnixTimeSeconds() / 60;
}
