using NodaTime;
using School.Core.Diary.Slots;
using School.Core.Travel;
using Xunit;

namespace School.Core.Tests.Diary.Slots;

/// <summary>Slot search against the constraint solver CP-SAT (Google OR-Tools).</summary>
public sealed class SlotModelTests
{
    // The model knows no hour of the day for travel, so every hour has the same speed.
    private static readonly StraightLineTravel Travel = new(new()
    {
        WeekdayMph = [.. Enumerable.Repeat(20.0, 24)],
        SaturdayMph = [.. Enumerable.Repeat(20.0, 24)],
        SundayMph = [.. Enumerable.Repeat(20.0, 24)],
    });

    [Fact]
    public void Random_days_have_the_starts_that_the_solver_finds()
    {
        var withStarts = 0;
        for (var seed = 0; seed < 300; seed++)
        {
            var (picture, wish) = RandomDiary.MakePlain(seed);
            var midnight = picture.Zone.AtStartOfDay(wish.From).ToInstant();

            var found = SlotSearch.Find(picture, wish, Travel, int.MaxValue)
                .Offers.Select(offer => (long)(offer.Start - midnight).TotalMinutes).Order();

            var expected = SlotModel.Starts(picture, wish, Travel);
            Assert.Equal(expected, found);
            withStarts += expected.Count > 0 ? 1 : 0;
        }

        Assert.True(withStarts >= 50, $"only {withStarts} days with a start");
    }
}
