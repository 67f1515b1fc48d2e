using NodaTime;

namespace School.Core.Travel;

/// <summary>A drive as it was: recorded by whoever drove it.</summary>
/// <param name="Id">The record.</param>
/// <param name="From">Where it began.</param>
/// <param name="To">Where it ended.</param>
/// <param name="Left">Local time of leaving.</param>
/// <param name="Minutes">How long it took; more than 0.</param>
public sealed record RecordedLeg(Guid Id, Coordinates From, Coordinates To, LocalDateTime Left, double Minutes);

/// <summary>How far estimates were from the recorded drives, in minutes.</summary>
/// <param name="MedianAbsolute">Half of the drives came within so many minutes.</param>
/// <param name="Early">One drive in ten took less than the estimate by more than this (negative: less).</param>
/// <param name="Late">One in ten took longer than the estimate by more than this. Between the two lie 80 % of the drives.</param>
public sealed record FitError(double MedianAbsolute, double Early, double Late);

/// <summary>The speed of one band before and after the fit.</summary>
/// <param name="Days">Which days.</param>
/// <param name="Before">The band as it stands.</param>
/// <param name="Mph">The fitted speed.</param>
/// <param name="Legs">How many drives fell into the band.</param>
/// <param name="Own">Whether they were enough for a speed of its own; else it moves with all drives together.</param>
public sealed record FittedBand(DayKind Days, SpeedBand Before, double Mph, int Legs, bool Own);

/// <summary>A drive so far from all others that the fit passes over it.</summary>
/// <param name="Leg">The drive.</param>
/// <param name="Estimate">Minutes that the fit would have expected.</param>
public sealed record OutlyingLeg(RecordedLeg Leg, double Estimate);

/// <summary>Speeds fitted to recorded drives.</summary>
/// <remarks>
/// <para>Minutes depend only on detour over speed, so the detour factor stays and the speeds move. For each band, log(minutes) minus the
/// log of the present estimate is a constant plus noise; the constants come from <see cref="RobustRegression"/> (Huber first, the
/// bisquare from there), so drives with a forgotten tap do not count. Bands with fewer than 8 drives move by the factor of all.</para>
/// <para>Errors are of drives that were held out: ten parts by turns, each told by a fit to the other nine; without rounding up.</para>
/// </remarks>
/// <param name="Legs">How many drives the fit used.</param>
/// <param name="Settings">The fitted settings, to be used if somebody chooses so.</param>
/// <param name="Bands">Before and after, band by band.</param>
/// <param name="ErrorBefore">Of the present settings.</param>
/// <param name="ErrorAfter">Of the fit, on drives that it had not seen.</param>
/// <param name="Outliers">Drives passed over, the farthest first.</param>
public sealed record TravelFit(
    int Legs,
    StraightLineSettings Settings,
    IReadOnlyList<FittedBand> Bands,
    FitError ErrorBefore,
    FitError ErrorAfter,
    IReadOnlyList<OutlyingLeg> Outliers)
{
    /// <summary>How many usable drives a fit needs.</summary>
    public const int LegsNeeded = 50;

    /// <summary>How many a band needs for a speed of its own.</summary>
    public const int LegsPerBand = 8;

    /// <summary>Shorter drives, in metres as the crow flies, say more about parking than about the road and are left out.</summary>
    public const double ShortestMetres = 200;

    private const int Parts = 10;
    private const double OutlyingScales = 4;
    private const double LeastScale = 0.05; // 5 %: a drive nearer than that is never an outlier.

    /// <summary>The drives that a fit can use.</summary>
    public static IReadOnlyList<RecordedLeg> Usable(IEnumerable<RecordedLeg> legs) =>
        [.. legs.Where(leg => leg.Minutes > 0 && leg.From.DistanceMetres(leg.To) >= ShortestMetres)];

    /// <summary>Fits the speeds, or null when fewer than <see cref="LegsNeeded"/> drives are usable.</summary>
    /// <param name="current">The present settings; valid.</param>
    /// <param name="legs">The drives, in any order.</param>
    public static TravelFit? Of(StraightLineSettings current, IEnumerable<RecordedLeg> legs)
    {
        var profile = new Profile(current);
        var cases = Usable(legs).OrderBy(leg => leg.Left).ThenBy(leg => leg.Id).Select(profile.Case).ToList();
        if (cases.Count < LegsNeeded)
        {
            return null;
        }

        var factors = profile.Fit(cases);
        var heldOut = new double[cases.Count];
        for (var part = 0; part < Parts; part++)
        {
            var others = profile.Fit([.. cases.Where((_, i) => i % Parts != part)]);
            for (var i = part; i < cases.Count; i += Parts)
            {
                heldOut[i] = cases[i].Leg.Minutes - cases[i].Estimate * Math.Exp(others[cases[i].Band].Log);
            }
        }
        return new(
            cases.Count,
            profile.Moved(factors),
            profile.Bands(factors),
            ErrorOf(cases.Select(drive => drive.Leg.Minutes - drive.Estimate)),
            ErrorOf(heldOut),
            OutliersAmong(cases, factors));
    }

    private static List<OutlyingLeg> OutliersAmong(List<Case> cases, IReadOnlyList<Factor> factors)
    {
        double Residual(Case drive) => Math.Abs(drive.Log - factors[drive.Band].Log);
        var scale = Math.Max(LeastScale, RobustRegression.Median(cases.Select(Residual)) / 0.6745);
        return [.. cases.Where(drive => Residual(drive) > OutlyingScales * scale).OrderByDescending(Residual)
            .Select(drive => new OutlyingLeg(drive.Leg, drive.Estimate * Math.Exp(factors[drive.Band].Log)))];
    }

    private static FitError ErrorOf(IEnumerable<double> errors)
    {
        var sorted = errors.Order().ToArray();
        return new(RobustRegression.Median(sorted.Select(Math.Abs)), Quantile(sorted, 0.1), Quantile(sorted, 0.9));
    }

    private static double Quantile(double[] sorted, double share)
    {
        var place = share * (sorted.Length - 1);
        var below = (int)place;
        var above = Math.Min(below + 1, sorted.Length - 1);
        return sorted[below] + (place - below) * (sorted[above] - sorted[below]);
    }

    /// <summary>A drive with its band, its present estimate, and the log of minutes over estimate.</summary>
    private readonly record struct Case(RecordedLeg Leg, int Band, double Estimate, double Log);

    private readonly record struct Factor(double Log, int Legs, bool Own);

    /// <summary>The bands of all three profiles in one row.</summary>
    private sealed class Profile(StraightLineSettings settings)
    {
        private readonly StraightLineTravel travel = new(settings);

        private readonly List<(DayKind Days, SpeedBand Band)> bands =
            [.. Enum.GetValues<DayKind>().SelectMany(days => SpeedBands.Of(settings.SpeedsOf(days)).Select(band => (days, band)))];

        public Case Case(RecordedLeg leg)
        {
            var days = StraightLineSettings.KindOf(leg.Left.DayOfWeek);
            var band = bands.FindIndex(b => b.Days == days && b.Band.From <= leg.Left.Hour && leg.Left.Hour < b.Band.Until);
            var estimate = travel.ExactMinutes(leg.From, leg.To, leg.Left);
            return new(leg, band, estimate, Math.Log(leg.Minutes / estimate));
        }

        /// <summary>The log by which each band's minutes are off.</summary>
        public IReadOnlyList<Factor> Fit(List<Case> cases)
        {
            var all = Logs(cases, [.. cases.Select(_ => 0)], 1)[0];
            var counts = new int[bands.Count];
            cases.ForEach(drive => counts[drive.Band]++);
            var columns = new int[bands.Count];
            var own = 0;
            for (var band = 0; band < columns.Length; band++)
            {
                columns[band] = counts[band] >= LegsPerBand ? own++ : -1;
            }

            var inOwn = cases.FindAll(drive => columns[drive.Band] >= 0);
            var logs = Logs(inOwn, [.. inOwn.Select(drive => columns[drive.Band])], own);
            return [.. columns.Select((column, band) => new Factor(column < 0 ? all : logs[column], counts[band], column >= 0))];
        }

        public StraightLineSettings Moved(IReadOnlyList<Factor> factors) => settings with
        {
            WeekdayMph = Speeds(DayKind.Weekday, factors),
            SaturdayMph = Speeds(DayKind.Saturday, factors),
            SundayMph = Speeds(DayKind.Sunday, factors),
        };

        public IReadOnlyList<FittedBand> Bands(IReadOnlyList<Factor> factors) =>
            [.. bands.Select((band, n) => new FittedBand(band.Days, band.Band, Moved(band.Band, factors[n]), factors[n].Legs, factors[n].Own))];

        private double[] Speeds(DayKind days, IReadOnlyList<Factor> factors) =>
            [.. bands.SelectMany((band, n) => band.Days != days ? [] : Enumerable.Repeat(Moved(band.Band, factors[n]), band.Band.Until - band.Band.From))];

        private static double Moved(SpeedBand band, Factor factor) => Math.Clamp(Math.Round(band.Mph / Math.Exp(factor.Log), 1), 1, 70);

        private static IReadOnlyList<double> Logs(List<Case> cases, int[] column, int columns)
        {
            if (columns == 0)
            {
                return [];
            }

            var rows = column.Select(c => { var row = new double[columns]; row[c] = 1; return row; }).ToList();
            var y = cases.ConvertAll(drive => drive.Log);
            var first = RobustRegression.Fit(rows, y, RobustLoss.Huber)!.Coefficients;
            // Where the bisquare throws a whole band away, the first answer stands.
            return RobustRegression.Fit(rows, y, RobustLoss.Bisquare, first)?.Coefficients ?? first;
        }
    }
}
