using CsCheck;
using School.Core.Syllabus;

namespace School.Core.Tests.Syllabus;

public sealed class WilsonIntervalTests
{
    // R. G. Newcombe, Two-sided confidence intervals for the single proportion: comparison of seven methods, Statistics in Medicine 17
    // (1998), pages 857 to 872, table I, score method without continuity correction. From memory.
    [Theory]
    [InlineData(81, 263, 0.2553, 0.3662)]
    [InlineData(15, 148, 0.0624, 0.1605)]
    [InlineData(0, 20, 0.0000, 0.1611)]
    [InlineData(1, 29, 0.0061, 0.1718)]
    public void The_interval_agrees_with_the_published_worked_values(int hits, int cases, double low, double high)
    {
        var interval = WilsonInterval.Of(hits, cases)!.Value;
        Assert.Equal(low, interval.Low, 0.00005);
        Assert.Equal(high, interval.High, 0.00005);
    }

    [Fact]
    public void Without_a_case_there_is_nothing_to_tell() => Assert.Null(WilsonInterval.Of(0, 0));

    [Theory]
    [InlineData(1, 0)]
    [InlineData(-1, 3)]
    public void Impossible_counts_are_refused(int hits, int cases) => Assert.Throws<ArgumentOutOfRangeException>(() => WilsonInterval.Of(hits, cases));

    [Fact]
    public void It_holds_the_share_seen_lies_within_0_and_1_and_mirrors() => Gen.Int[1, 500].SelectMany(n => Gen.Int[0, n].Select(hits => (hits, n))).Sample((hits, n) =>
    {
        var (interval, mirror) = (WilsonInterval.Of(hits, n)!.Value, WilsonInterval.Of(n - hits, n)!.Value);
        Assert.InRange((double)hits / n, interval.Low, interval.High);
        Assert.True(interval is { Low: >= 0, High: <= 1 } && interval.Low < interval.High);
        Assert.Equal(1 - interval.High, mirror.Low, 1e-12);
    });
}
