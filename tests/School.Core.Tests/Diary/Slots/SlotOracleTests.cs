using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Travel;
using Xunit;

namespace School.Core.Tests.Diary.Slots;

/// <summary>Slot search against an oracle written from the rules alone.</summary>
public sealed class SlotOracleTests
{
    private static readonly StraightLineTravel Travel = new(new());

    [Fact]
    public void Five_thousand_random_diaries_are_answered_as_the_oracle_answers()
    {
        var fired = new Dictionary<SlotRule, int>();
        var offered = 0;
        for (var seed = 0; seed < 5000; seed++)
        {
            var (picture, wish) = RandomDiary.Make(seed);
            var oracle = new SlotOracle(picture, wish, Travel);
            var expected = oracle.JudgeAll(out var datesWithoutHours);

            var found = SlotSearch.Find(picture, wish, Travel, int.MaxValue);

            var offers = expected.Where(judged => judged.Answer.Broken is null)
                .OrderBy(judged => judged.Answer.Extra).ThenBy(judged => judged.Answer.Unusable)
                .ThenBy(judged => RandomAreas.Serves(judged.Diary.Instructor, wish.PickUpAreaId) ? 0 : 1).ThenBy(judged => judged.Start).ThenBy(judged => judged.Diary.Instructor.Id)
                .Select(judged => (judged.Start, judged.Diary.Instructor.Id, judged.Answer.Car, judged.Answer.Extra, judged.Answer.Unusable));
            Assert.Equal(offers, found.Offers.Select(Told));
            Assert.Equal(found.Offers.Count, found.Found);
            var refusals = expected.Where(judged => judged.Answer.Broken is not null).Select(judged => judged.Answer.Broken!.Value)
                .Concat(Enumerable.Repeat(SlotRule.OutsideWorkingHours, datesWithoutHours))
                .CountBy(rule => rule).OrderBy(count => count.Key);
            Assert.Equal(refusals, found.Refusals.OrderBy(count => count.Key));

            offered += found.Found;
            foreach (var (rule, times) in found.Refusals)
            {
                fired[rule] = fired.GetValueOrDefault(rule) + times;
            }

            foreach (var broken in AgreeOnSingleStarts(picture, wish, oracle, new Random(seed)))
            {
                fired[broken] = fired.GetValueOrDefault(broken) + 1;
            }
        }

        Assert.True(offered > 10_000, $"only {offered} offers");
        Assert.All(Enum.GetValues<SlotRule>(), rule => Assert.True(fired.GetValueOrDefault(rule) >= 200, $"{rule} fired {fired.GetValueOrDefault(rule)} times"));
    }

    private static List<SlotRule> AgreeOnSingleStarts(DiaryPicture picture, LessonWish wish, SlotOracle oracle, Random random)
    {
        var broken = new List<SlotRule>();
        var midnight = picture.Zone.AtStartOfDay(wish.From).ToInstant();
        for (var i = 0; i < 8; i++)
        {
            var start = midnight + Duration.FromMinutes(random.Next(0, 1440));
            var diary = picture.Instructors[random.Next(picture.Instructors.Count)];
            var expected = oracle.Judge(diary, start.ToUnixTimeSeconds() / 60);

            var verdict = SlotSearch.Check(picture, wish, diary.Instructor.Id, start, Travel);

            Assert.Equal(expected.Broken, verdict.Refusal?.Rule);
            if (verdict.Offer is { } offer)
            {
                Assert.Equal(oracle.End(start.ToUnixTimeSeconds() / 60), offer.End.ToUnixTimeSeconds() / 60);
                Assert.Equal((expected.Car, expected.Extra, expected.Unusable), (offer.CarId, offer.ExtraDrivingMinutes, offer.UnusableGapMinutes));
            }
            else
            {
                broken.Add(verdict.Refusal!.Rule);
            }
        }
        return broken;
    }

    private static (long, Guid, Guid, long, long) Told(SlotOffer offer) => (
        offer.Start.ToUnixTimeSeconds() / 60, offer.InstructorId, offer.CarId, offer.ExtraDrivingMinutes, offer.UnusableGapMinutes);
}
