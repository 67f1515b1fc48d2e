using CsCheck;
using NodaTime;
using School.Core.Diary.Slots;

namespace School.Core.Tests.Diary.Slots;

public sealed class FreedTimeTests
{
    private static readonly DateTimeZone London = DateTimeZoneProviders.Tzdb["Europe/London"];
    private static readonly int[] Grids = [5, 10, 15, 20, 30, 60];

    [Fact]
    public void The_time_of_a_test_gives_as_many_lessons_on_the_grid_as_fit()
    {
        Assert.Equal([At(9, 0), At(10, 0)], Starts(new(At(9, 0), At(11, 0)), null));
        Assert.Equal([At(9, 15)], Starts(new(At(9, 14), At(11, 14)), null));
        Assert.Empty(Starts(new(At(9, 14), At(10, 14)), null));
    }

    [Fact]
    public void What_the_moved_test_still_takes_is_left_out()
    {
        Assert.Equal([At(9, 15)], Starts(new(At(9, 14), At(11, 14)), new(At(10, 30), At(12, 30))));
        Assert.Equal([At(10, 0)], Starts(new(At(9, 0), At(11, 0)), new(At(8, 0), At(9, 50))));
        Assert.Equal([At(9, 0), At(10, 0)], Starts(new(At(9, 0), At(11, 0)), new(At(11, 0), At(13, 0))));
        Assert.Empty(Starts(new(At(9, 0), At(11, 0)), new(At(8, 0), At(12, 0))));
    }

    [Fact]
    public void Every_piece_is_free_on_the_grid_and_a_lesson_long_and_no_two_meet() => Gen.Select(
        Gen.Int[0, 30_000], Gen.Int[1, 500], Gen.Int[0, 600], Gen.Int[1, 300], Gen.Int[6, 18].Select(n => n * 5), Gen.Int[0, 5].Select(n => Grids[n])).Sample(
        (begin, length, otherBegin, otherLength, minutes, grid) =>
        {
            // Over four weeks around the end of summer time.
            var start = Instant.FromUtc(2026, 10, 12, 0, 0) + Duration.FromMinutes(begin);
            var was = new Interval(start, start + Duration.FromMinutes(length));
            var other = start + Duration.FromMinutes(otherBegin - 300);
            var still = new Interval(other, other + Duration.FromMinutes(otherLength));
            var pieces = FreedTime.Pieces(was, still, minutes, grid, London);
            Assert.All(pieces, piece =>
            {
                Assert.Equal(Duration.FromMinutes(minutes), piece.Duration);
                Assert.True(piece.Start >= was.Start && piece.End <= was.End);
                Assert.True(piece.End <= still.Start || piece.Start >= still.End);
                Assert.Equal(0, piece.Start.InZone(London).TimeOfDay.NanosecondOfDay % (grid * NodaConstants.NanosecondsPerMinute));
            });
            Assert.All(pieces.Zip(pieces.Skip(1)), pair => Assert.True(pair.First.End <= pair.Second.Start));
        });

    private static Instant At(int hour, int minute) => Instant.FromUtc(2026, 3, 5, hour, minute);

    private static IEnumerable<Instant> Starts(Interval was, Interval? still) => FreedTime.Pieces(was, still, 60, 15, London).Select(piece => piece.Start);
}
