using School.Core.Diary.Time;

namespace School.Core.Tests.Diary.Time;

/// <summary>SI 2005/1902 regulation 15(2): one fifth of the total time; the figures are reckoned by hand from it.</summary>
public class TraineeShareTests
{
    [Theory]
    [InlineData(90 * 60, 18 * 60)]
    [InlineData((47 * 60) + 30, (9 * 60) + 30)]
    [InlineData((50 * 60) + (50 * 120), 30 * 60)]
    [InlineData(0, 0)]
    [InlineData(1, 1)]
    [InlineData(6, 2)]
    public void One_fifth_of_the_time(int given, int needed)
    {
        Assert.Equal(needed, TraineeShare.Needed(given));
        Assert.True(TraineeShare.IsEnough(given, needed));
        Assert.True(needed == 0 || !TraineeShare.IsEnough(given, needed - 1));
    }

    // A hundred lessons, half of them of one hour and half of two: twenty of one hour are a fifth of the lessons and not of the time.
    [Fact]
    public void Not_one_fifth_of_the_lessons() => Assert.False(TraineeShare.IsEnough((50 * 60) + (50 * 120), 20 * 60));

    [Theory]
    [InlineData(0, 0, 1)]
    [InlineData(300, 60, 0.2)]
    [InlineData(100, 0, 0)]
    public void The_share_so_far(int given, int supervised, double share) => Assert.Equal(share, TraineeShare.Of(given, supervised));
}
