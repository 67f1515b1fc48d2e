using CsCheck;
using NodaTime;
using School.Core.Travel;

namespace School.Core.Tests.Travel;

public sealed class TravelFitTests
{
    private const double Noise = 0.12; // of the log: a drive is usually within 12 %
    private static readonly StraightLineSettings Usual = new();

    /// <summary>Twenty drives in every band of the usual profile.</summary>
    private static int InEveryBand => Bands(Usual).Count() * 20;

    [Fact]
    public void True_speeds_are_recovered_within_a_tenth_although_a_fifth_of_the_drives_is_grossly_wrong() =>
        Gen.Select(Gen.Double[0.6, 1.6], Gen.Double[0.8, 1.25].Array[30], Gen.Int[0, 1 << 20]).Sample((all, each, seed) =>
        {
            var truth = Times(Usual, band => all * each[band]);
            var fit = TravelFit.Of(Usual, Drives(truth, InEveryBand * 2, seed, wrongEvery: 5))!;
            foreach (var days in Enum.GetValues<DayKind>())
            {
                Assert.All(truth.SpeedsOf(days), (mph, hour) => Assert.InRange(fit.Settings.SpeedsOf(days)[hour] / mph, 0.9, 1.1));
            }

            Assert.Empty(fit.Settings.Validate());
        }, iter: 25);

    [Fact]
    public void Held_out_drives_are_told_better_after_the_fit_and_the_wrong_ones_are_listed()
    {
        var legs = Drives(Times(Usual, _ => 0.7), InEveryBand, 7, wrongEvery: 10);
        var fit = TravelFit.Of(Usual, legs)!;
        Assert.Equal(legs.Count, fit.Legs);
        Assert.True(fit.ErrorAfter.MedianAbsolute < fit.ErrorBefore.MedianAbsolute / 2, $"{fit.ErrorBefore} {fit.ErrorAfter}");
        Assert.True(fit.ErrorAfter.Late - fit.ErrorAfter.Early < fit.ErrorBefore.Late - fit.ErrorBefore.Early);
        var wrong = legs.Where((_, i) => i % 10 == 0).Select(leg => leg.Id).ToHashSet();
        Assert.Equal(wrong, fit.Outliers.Select(outlier => outlier.Leg.Id).ToHashSet());
        Assert.Equal(Usual.DetourFactor, fit.Settings.DetourFactor);
    }

    [Fact]
    public void The_error_of_settings_that_are_right_is_that_of_the_noise()
    {
        var fit = TravelFit.Of(Usual, Drives(Usual, InEveryBand * 2, 3, wrongEvery: int.MaxValue))!;
        // 80 % of a normal variate lies within 1.2816 standard deviations, half within 0.6745 (any table of the normal distribution).
        var minutes = Drives(Usual, InEveryBand * 2, 3, int.MaxValue).Average(leg => leg.Minutes);
        Assert.InRange(fit.ErrorBefore.MedianAbsolute, 0.5 * 0.6745 * Noise * minutes, 1.5 * 0.6745 * Noise * minutes);
        Assert.InRange(fit.ErrorBefore.Late, 0.6 * 1.2816 * Noise * minutes, 1.6 * 1.2816 * Noise * minutes);
        Assert.InRange(fit.ErrorAfter.MedianAbsolute, 0.9 * fit.ErrorBefore.MedianAbsolute, 1.15 * fit.ErrorBefore.MedianAbsolute);
    }

    [Fact]
    public void A_band_with_few_drives_moves_with_all_of_them()
    {
        var midday = Drives(Times(Usual, _ => 0.5), 2_000, 11, int.MaxValue).Where(leg => leg.Left is { DayOfWeek: <= IsoDayOfWeek.Friday, Hour: >= 9 and < 15 }).Take(60);
        var fit = TravelFit.Of(Usual, midday)!;
        var band9 = fit.Bands.Single(band => band is { Days: DayKind.Weekday, Before.From: 9 });
        Assert.True(band9 is { Own: true, Legs: 60 });
        Assert.All(fit.Bands.Where(band => band != band9), band => Assert.True(band is { Own: false, Legs: 0 }));
        Assert.All(fit.Bands, band => Assert.InRange(band.Mph / band.Before.Mph, 0.45, 0.55));
    }

    [Fact]
    public void Fewer_than_fifty_usable_drives_give_no_fit()
    {
        var legs = Drives(Usual, 50, 1, int.MaxValue);
        Assert.NotNull(TravelFit.Of(Usual, legs));
        Assert.Null(TravelFit.Of(Usual, legs.Skip(1)));
        Assert.Null(TravelFit.Of(Usual, [.. legs.Skip(1), legs[0] with { Minutes = 0 }]));
        Assert.Null(TravelFit.Of(Usual, [.. legs.Skip(1), legs[0] with { To = legs[0].From }]));
    }

    [Fact]
    public void The_order_of_the_drives_does_not_matter() =>
        Gen.Int[0, 1 << 20].Sample(seed =>
        {
            var legs = Drives(Times(Usual, _ => 1.2), 120, seed, 6);
            Assert.Equal(TravelFit.Of(Usual, legs)!.Settings.WeekdayMph, TravelFit.Of(Usual, legs.AsEnumerable().Reverse())!.Settings.WeekdayMph);
        }, iter: 20);

    [Fact]
    public void Drives_that_all_took_the_same_share_fit_exactly_without_noise()
    {
        var truth = Times(Usual, _ => 0.8);
        var travel = new StraightLineTravel(truth);
        var legs = Drives(truth, 200, 5, int.MaxValue).Select(leg => leg with { Minutes = travel.Between(leg.From, leg.To, leg.Left).Miles / truth.SpeedsOf(StraightLineSettings.KindOf(leg.Left.DayOfWeek))[leg.Left.Hour] * 60 });
        var fit = TravelFit.Of(Usual, legs)!;
        Assert.Equal(0, fit.ErrorAfter.MedianAbsolute, 1e-6);
        Assert.Empty(fit.Outliers);
    }

    private static IEnumerable<(DayKind Days, SpeedBand Band)> Bands(StraightLineSettings settings) =>
        Enum.GetValues<DayKind>().SelectMany(days => SpeedBands.Of(settings.SpeedsOf(days)).Select(band => (days, band)));

    /// <summary>The settings with every band's speed times a factor.</summary>
    private static StraightLineSettings Times(StraightLineSettings settings, Func<int, double> factor)
    {
        var n = 0;
        double[] Scaled(DayKind days) =>
            [.. SpeedBands.Of(settings.SpeedsOf(days)).SelectMany(band => Enumerable.Repeat(band.Mph * factor(n++), band.Until - band.From))];
        return settings with { WeekdayMph = Scaled(DayKind.Weekday), SaturdayMph = Scaled(DayKind.Saturday), SundayMph = Scaled(DayKind.Sunday) };
    }

    private static List<RecordedLeg> Drives(StraightLineSettings truth, int count, int seed, int wrongEvery)
    {
        var chance = new Random(seed);
        var travel = new StraightLineTravel(truth);
        var bands = Bands(Usual).ToList();
        double Normal() => Math.Sqrt(-2 * Math.Log(1 - chance.NextDouble())) * Math.Cos(2 * Math.PI * chance.NextDouble());
        return [.. Enumerable.Range(0, count).Select(i =>
        {
            var (days, band) = bands[i % bands.Count];
            var date = new LocalDate(2026, 3, 2).PlusWeeks(chance.Next(20)).PlusDays(days switch { DayKind.Saturday => 5, DayKind.Sunday => 6, _ => chance.Next(5) });
            var left = date.At(new LocalTime(chance.Next(band.From, band.Until), chance.Next(60)));
            var from = new Coordinates(52.4 + (chance.NextDouble() / 20), -1.2 + (chance.NextDouble() / 20));
            var to = new Coordinates(from.Latitude + 0.02 + (chance.NextDouble() / 20), from.Longitude - (chance.NextDouble() / 20));
            var exact = travel.Between(from, to, left).Miles / truth.SpeedsOf(days)[left.Hour] * 60;
            var wrong = i % wrongEvery == 0 && wrongEvery != int.MaxValue ? 3 + (4 * chance.NextDouble()) : 1;
            return new RecordedLeg(new Guid(i + 1, 0, 0, new byte[8]), from, to, left, exact * Math.Exp(Noise * Math.Clamp(Normal(), -3, 3)) * wrong);
        })];
    }
}
