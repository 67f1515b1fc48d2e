using School.Core.Diary;
using Xunit;

namespace School.Core.Tests.Diary;

public sealed class DiaryRulesTests
{
    [Fact]
    public void The_defaults_are_valid()
    {
        Assert.Empty(new DiaryRules().Validate());
        Assert.Equal((10, 420), (new DiaryRules().BufferMinutes, new DiaryRules().DailyTeachingMinutes));
    }

    [Fact]
    public void Every_number_out_of_bounds_is_told_by_its_field()
    {
        var rules = new DiaryRules
        {
            GridMinutes = 4,
            LessonMinutes = [],
            BufferMinutes = -1,
            NoticeToBookHours = 721,
            NoticeToMoveHours = -1,
            HorizonDays = 0,
            RestAfterMinutes = 29,
            RestMinutes = 121,
            DailyTeachingMinutes = 14,
            TraineeDailyTeachingMinutes = 1441,
            MinimumAge = 13,
            MinimumAgeWithMobilityAward = 31,
        };

        var errors = rules.Validate();

        Assert.Equal(12, errors.Count);
        Assert.Equal("Notice to book must be from 0 to 720 hours.", errors[nameof(DiaryRules.NoticeToBookHours)]);
    }

    [Theory]
    [InlineData(15, null)]
    [InlineData(7, "The grid must divide the day evenly, for example 5, 10, 15, 30 or 60 minutes.")]
    [InlineData(0, "The grid must be from 5 to 120 minutes.")]
    public void The_grid_divides_the_day(int minutes, string? error) =>
        Assert.Equal(error, new DiaryRules { GridMinutes = minutes }.Validate().GetValueOrDefault(nameof(DiaryRules.GridMinutes)));

    [Theory]
    [InlineData(new[] { 60, 60 }, "Every length of lesson may be given only once.")]
    [InlineData(new[] { 60, 14 }, "Every length of lesson must be from 15 to 480 minutes.")]
    [InlineData(new[] { 45, 480 }, null)]
    public void Lengths_of_lesson_are_sensible(int[] lengths, string? error) =>
        Assert.Equal(error, new DiaryRules { LessonMinutes = lengths }.Validate().GetValueOrDefault(nameof(DiaryRules.LessonMinutes)));
}
