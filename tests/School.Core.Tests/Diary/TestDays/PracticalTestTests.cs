using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Core.Diary.Slots;
using School.Core.Diary.TestDays;
using School.Core.Diary.Time;
using School.Core.Pupils;
using static School.Core.Tests.Diary.Larkfield;

namespace School.Core.Tests.Diary.TestDays;

public sealed class PracticalTestTests
{
    // readytopass.campaign.gov.uk/driving-test/driving-test-marking-faults-results: at most 15 driving faults, no serious or dangerous one.
    [Theory]
    [InlineData(0, 0, 0, true)]
    [InlineData(15, 0, 0, true)]
    [InlineData(16, 0, 0, false)]
    [InlineData(0, 1, 0, false)]
    [InlineData(0, 0, 1, false)]
    [InlineData(15, 1, 1, false)]
    public void The_pass_rule(int driving, int serious, int dangerous, bool passes) =>
        Assert.Equal(passes, new TestMarks(driving, serious, dangerous).Pass);

    // Ten working days after, Monday to Saturday without bank holidays (GOV.UK lists), counted by hand; the ten days are from memory.
    [Theory]
    [InlineData(2026, 3, 2, Nation.EnglandAndWales, 2026, 3, 13)] // no holiday near: two weeks less a Sunday each
    [InlineData(2026, 3, 30, Nation.EnglandAndWales, 2026, 4, 13)] // Good Friday and Easter Monday
    [InlineData(2026, 3, 30, Nation.Scotland, 2026, 4, 11)] // Good Friday only
    [InlineData(2026, 11, 24, Nation.Scotland, 2026, 12, 7)] // St Andrew's Day
    [InlineData(2026, 11, 24, Nation.EnglandAndWales, 2026, 12, 5)]
    [InlineData(2026, 12, 16, Nation.EnglandAndWales, 2026, 12, 31)] // Saturday 26 December beside its substitute, Monday the 28th
    public void The_earliest_day_for_another_test(int year, int month, int day, Nation nation, int y, int m, int d)
    {
        HashSet<LocalDate> holidays = [.. BankHolidays.Of(nation, year).Concat(BankHolidays.Of(nation, year + 1)).Select(h => h.Date)];

        Assert.Equal(new LocalDate(y, m, d), PracticalTest.EarliestRetest(new LocalDate(year, month, day), PracticalTest.RetestDays, nation, holidays));
    }

    [Fact]
    public void A_test_on_a_Sunday_is_unusual()
    {
        Assert.False(PracticalTest.IsUsualOn(new LocalDate(2026, 3, 8)));
        Assert.All(Enumerable.Range(2, 6), day => Assert.True(PracticalTest.IsUsualOn(new LocalDate(2026, 3, day))));
    }

    [Fact]
    public void The_rules_kept_are_those_of_Great_Britain() =>
        Assert.Equal([Nation.EnglandAndWales, Nation.Scotland], Enum.GetValues<Nation>().Where(PracticalTest.IsIn));

    // DVSA form DL25, numbers from memory: 1a to 27 without 3 and 6 (retired for cars) and without 9 and 10 (not in car tests).
    [Fact]
    public void The_headings_are_those_of_the_marking_sheet()
    {
        Assert.Equal(
            ["1a", "2", "4", "5", "7", "8", .. Enumerable.Range(11, 17).Select(n => $"{n}")],
            TestHeadings.All.Select(heading => heading.Number).Distinct());
        Assert.Equal(TestHeadings.All.Count, TestHeadings.All.Select(heading => heading.Code).Distinct().Count());
        Assert.Equal("Junctions: observation", TestHeadings.Find("21-observation")?.Words);
        Assert.Null(TestHeadings.Find("28"));
    }

    // gov.uk, "Driving test: cars – using your own car": taxed, MOT if more than three years old.
    [Fact]
    public void A_test_car_is_looked_at_on_the_day_of_the_test()
    {
        var date = new LocalDate(2026, 3, 5);
        var during = new Interval(At(date, 9), At(date, 11));
        var car = Car with { MotExpires = date, TaxExpires = date, InsuranceExpires = date };

        Assert.Empty(TestCar.Broken(car, date, during));
        Assert.Equal(["mot", "taxed", "insured"], TestCar.Broken(car, date.PlusDays(1), during).Select(rule => rule.Code));
        Assert.Equal(["off_road"], TestCar.Broken(car with { OffRoad = [new(At(date, 10), null)] }, date, during).Select(rule => rule.Code));
        Assert.Empty(TestCar.Broken(car with { FirstRegistered = new(2024, 1, 1), MotExpires = null }, date, during));
    }

    [Fact]
    public void A_test_takes_instructor_and_car_and_is_driven_to_but_is_no_teaching()
    {
        var test = new DiaryEntry(Guid.NewGuid(), EntryKind.Test, During(11, 0, 120), Guid.NewGuid(), CarId, Place(20), Place(0));
        var diary = DiaryWith(test);
        var picture = Picture(diary, Larkfield.Rules with { DailyTeachingMinutes = 60 });

        SlotRule? At(int hour, int minute) => SlotSearch.Check(picture, Wish(), InstructorId, Larkfield.At(hour, minute), OneRoad).Refusal?.Rule;

        Assert.Equal(SlotRule.InstructorBusy, At(11, 30));
        // Twenty minutes to where the test begins, and the buffer.
        Assert.Equal(SlotRule.NoTimeToGetThere, At(9, 45));
        Assert.Null(At(9, 15));
        // It ends here, so only the buffer is kept after it; and its two hours are not in the sixty minutes of teaching.
        Assert.Null(At(13, 15));
        Assert.Equal(0, DayRoute.Build(picture.Rules, Zone, diary, Monday, OneRoad).TaughtMinutes);
    }

    [Fact]
    public void A_test_keeps_the_pupil_busy_and_is_not_in_the_weekly_limit()
    {
        var test = new PupilLesson(Guid.NewGuid(), During(11, 0, 120), CountsInWeek: false);
        var wish = Wish() with { Pupil = Pupil with { WeeklyMinutes = 60, Lessons = [test] } };
        var picture = Picture(DiaryWith());

        Assert.Equal(SlotRule.PupilBusy, SlotSearch.Check(picture, wish, InstructorId, At(12), OneRoad).Refusal?.Rule);
        Assert.Null(SlotSearch.Check(picture, wish, InstructorId, At(14), OneRoad).Refusal);
    }
}
