using System.Diagnostics;
using System.Globalization;
using School.Core.Cars;
using School.Core.Tests.Cars;
using School.Core.Tests.Diary.Cover;
using School.Core.Travel;

namespace School.Benchmarks;

/// <summary>Cover and car allocation beside one plain model each for CP-SAT, which proves the least cost without what the product knows.</summary>
internal static class CoverBench
{
    private const int Rounds = 5;
    private const int PerRound = 20;
    private const int Workers = 2;
    private const double MostSeconds = 120;

    private static readonly StraightLineTravel Travel = new(new StraightLineSettings());

    public static IReadOnlyList<string> Measure() => [.. Cover(), .. Allocation()];

    private static IEnumerable<string> Cover()
    {
        var compare = new Comparison();
        for (var seed = -5; seed < Rounds * PerRound; seed++)
        {
            var problem = RandomCover.Make(5000 + seed, lessons: 8, colleagues: 4 + Math.Abs(seed) % 12, hoursMoved: Math.Abs(seed) % 3);
            if (seed < 0)
            {
                // Warm both up.
                Core.Diary.Cover.CoverSearch.Propose(problem, Travel);
                new CoverModel(problem, Travel).Solve(Workers, 1);
                continue;
            }

            compare.Add(
                seed / PerRound,
                () => Core.Diary.Cover.CoverSearch.Propose(problem, Travel).Cost,
                () => new CoverModel(problem, Travel).Solve(Workers, MostSeconds));
        }

        return compare.Figures("cover-8-lessons-4-to-15-colleagues");
    }

    private static IEnumerable<string> Allocation()
    {
        var compare = new Comparison();
        for (var seed = -20; seed < Rounds * PerRound; seed++)
        {
            var problem = RandomFleet.School(5000 + seed, most: 60);
            if (seed < 0)
            {
                CarAllocation.Propose(problem);
                CarAllocationModel.Solve(problem, Workers);
                continue;
            }

            compare.Add(seed / PerRound, () => CarAllocation.Propose(problem).Cost, () => CarAllocationModel.Solve(problem, Workers));
        }

        return compare.Figures("car-allocation-60-needs");
    }

    /// <summary>Pairs of runs, one after the other, so that a busy moment of the machine falls on both.</summary>
    private sealed class Comparison
    {
        private readonly double[] ours = new double[Rounds];
        private readonly double[] theirs = new double[Rounds];
        private readonly List<double> each = [];
        private double slowest;
        private int cases;
        private int equal;
        private int unproven;

        public void Add<T>(int round, Func<T> own, Func<(T Cost, bool Proven)> model)
            where T : IEquatable<T>
        {
            var (cost, took) = Timed(own);
            var ((modelCost, proven), modelTook) = Timed(model);
            ours[round] += took;
            theirs[round] += modelTook;
            each.Add(modelTook / took);
            slowest = Math.Max(slowest, took);
            cases++;
            equal += proven && cost.Equals(modelCost) ? 1 : 0;
            unproven += proven ? 0 : 1;
        }

        public IEnumerable<string> Figures(string name)
        {
            var (mine, model) = (Median(ours) / PerRound, Median(theirs) / PerRound);
            var ratio = Median([.. theirs.Zip(ours, (their, our) => their / our)]);
            yield return Line($"{name} {mine:0.000} ms (ratio {ratio:0.0} times faster than CP-SAT with {Workers} workers, {model:0.0} ms; median of cases {Median([.. each]):0.0})");
            yield return Line($"{name}-slowest {slowest:0.0} ms");
            yield return Line($"{name}-equal {equal} of {cases} (ratio {(double)equal / (cases - unproven):0.00}; {unproven} not proven by CP-SAT in {MostSeconds} s)");
        }

        private static (T Value, double Milliseconds) Timed<T>(Func<T> run)
        {
            var watch = Stopwatch.StartNew();
            var value = run();
            return (value, watch.Elapsed.TotalMilliseconds);
        }

        private static double Median(double[] values) => values.Order().ElementAt(values.Length / 2);

        private static string Line(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
    }
}
