using System.Globalization;
using Npgsql;
using School.Tests;
using School.Web.Modules.Diary.Events;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Events;

/// <summary>Of what somebody has been told, beside what PostgreSQL itself says of its snapshots.</summary>
public sealed class ToldUpToTests(TestPostgres postgres)
{
    [Fact]
    public async Task A_snapshot_holds_what_PostgreSQL_says_that_it_shows()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var random = new Random(7);
        for (var n = 0; n < 20; n++)
        {
            var snapshot = Snapshot(random);
            // PostgreSQL's documentation, table "Transaction ID and Snapshot Information Functions": pg_visible_in_snapshot.
            var shown = await host.AskAsync<long[]>($"SELECT coalesce(array_agg(x ORDER BY x), ARRAY[]::bigint[]) FROM generate_series(1, 140) AS x WHERE pg_visible_in_snapshot(x::text::xid8, '{snapshot}')");
            var told = ToldUpTo.OfSnapshot(snapshot);
            Assert.Equal(shown, Numbers().Where(told.Holds).Select(x => (long)x));
            Assert.Equal(told.ToString(), ToldUpTo.Parse(told.ToString())!.ToString());
        }
    }

    [Fact]
    public void Together_and_with_one_more_they_hold_what_either_holds_and_one_that_holds_another_holds_all_of_it()
    {
        var random = new Random(11);
        for (var n = 0; n < 2000; n++)
        {
            var (one, other) = (ToldUpTo.OfSnapshot(Snapshot(random)), ToldUpTo.OfSnapshot(Snapshot(random)));
            var more = (ulong)random.Next(1, 130);
            Assert.Equal(Numbers().Where(x => one.Holds(x) || other.Holds(x)), Numbers().Where(one.And(other).Holds));
            Assert.Equal(Numbers().Where(x => one.Holds(x) || x == more), Numbers().Where(one.And(more).Holds));
            Assert.Equal(Numbers().Where(other.Holds).All(one.Holds), one.Holds(other));
            Assert.True(Numbers().TakeWhile(x => x < one.First).All(one.Holds));
        }
    }

    [Theory]
    [InlineData("")]
    [InlineData("-5")]
    [InlineData("5.")]
    [InlineData("5.x")]
    [InlineData("99999999999999999999999")]
    [InlineData("1.2.3.4.5.6.7.8.9.10.11.12.13.14.15.16.17.18.19.20.21.22.23.24.25.26.27")]
    public void What_was_never_given_out_says_nothing(string text) => Assert.Null(ToldUpTo.Parse(text));

    [Fact]
    public void With_very_many_open_less_is_said_and_nothing_untrue()
    {
        var told = new ToldUpTo(200, [.. Enumerable.Range(150, 40).Select(x => (ulong)x)]);
        var said = ToldUpTo.Parse(told.ToString())!;
        Assert.Equal(150UL, said.Before);
        Assert.True(told.Holds(said));
    }

    private static IEnumerable<ulong> Numbers() => Enumerable.Range(1, 140).Select(x => (ulong)x);

    private static string Snapshot(Random random)
    {
        var first = random.Next(20, 100);
        var end = first + random.Next(0, 12);
        var open = Enumerable.Range(first, end - first).Where(x => x == first || random.Next(3) == 0).Where(x => x < end);
        return string.Create(CultureInfo.InvariantCulture, $"{first}:{end}:{string.Join(',', open)}");
    }
}
