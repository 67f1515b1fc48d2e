using NodaTime;
using School.Core.Diary.Slots;
using Xunit;
using static School.Core.Tests.Diary.Larkfield;

namespace School.Core.Tests.Diary.Slots;

public sealed class SlotFindTests
{
    [Fact]
    public void Offers_are_ranked_by_extra_driving_then_unusable_gap_then_time()
    {
        var diary = DiaryWith(Lesson(9, 0, 60, begins: 20), Lesson(15, 0, 60, begins: 20));
        var wish = Wish(pickUp: 20) with { To = Monday.PlusDays(1) };

        var found = SlotSearch.Find(Picture(diary), wish, OneRoad, int.MaxValue).Offers;

        var keys = found.Select(offer => (offer.ExtraDrivingMinutes, offer.UnusableGapMinutes, offer.Start)).ToList();
        Assert.Equal(keys.Order(), keys);
        // Between the two lessons nothing more is driven; on the empty Tuesday it is there and back.
        Assert.Equal((0, 40), (keys[0].ExtraDrivingMinutes, keys[^1].ExtraDrivingMinutes));
        Assert.All(found, offer => Assert.Equal(offer.ExtraDrivingMinutes == 0, offer.Start < At(17)));
    }

    [Fact]
    public void Only_the_best_are_returned_but_all_are_counted()
    {
        var found = SlotSearch.Find(Picture(DiaryWith()), Wish(), OneRoad, 3);

        // 09:00 to 16:00 every quarter of an hour.
        Assert.Equal((3, 29), (found.Offers.Count, found.Found));
        // 09:00 leaves the whole day after it usable; so does 16:00.
        Assert.Equal(At(9), found.Offers[0].Start);
    }

    [Fact]
    public void The_page_can_say_which_rule_stood_in_the_way_most()
    {
        var diary = DiaryWith(Busy(9, 0, 420));

        var found = SlotSearch.Find(Picture(diary), Wish() with { To = Monday.PlusDays(6) }, OneRoad, 10);

        // Monday: 28 busy starts, one free, three too late; Tuesday to Friday 29 free and three too late; no weekend.
        Assert.Equal(1 + 4 * 29, found.Found);
        Assert.Equal(28, found.Refusals[SlotRule.InstructorBusy]);
        Assert.Equal(5 * 3 + 2, found.Refusals[SlotRule.OutsideWorkingHours]);
        Assert.Equal(SlotRule.InstructorBusy, found.MostInTheWay);
    }

    [Fact]
    public void Nothing_refused_means_nothing_in_the_way() =>
        Assert.Null(SlotSearch.Find(Picture(DiaryWith()), Wish() with { To = Monday.PlusDays(-1) }, OneRoad, 1).MostInTheWay);

    [Fact]
    public void Every_instructor_of_the_picture_is_looked_at()
    {
        var other = Guid.NewGuid();
        var second = DiaryWith() with
        {
            Instructor = Instructor with { Id = other },
            Holds = [new(CarId, other, new Interval(At(12), null))],
        };
        var first = DiaryWith();
        first = first with { Holds = [first.Holds[0] with { During = new Interval(null, At(12)) }] };
        var picture = Picture(first) with { Instructors = [first, second] };

        var found = SlotSearch.Find(picture, Wish(), OneRoad, int.MaxValue).Offers;

        Assert.All(found, offer => Assert.Equal(offer.End <= At(12) ? InstructorId : other, offer.InstructorId));
        Assert.DoesNotContain(found, offer => offer.Start < At(12) && offer.End > At(12));
        Assert.Equal(2, found.Select(offer => offer.InstructorId).Distinct().Count());
    }
}
