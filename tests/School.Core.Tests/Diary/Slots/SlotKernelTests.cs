using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Travel;
using Xunit;

namespace School.Core.Tests.Diary.Slots;

/// <summary>What the oracle cannot see of the search on prepared days.</summary>
public sealed class SlotKernelTests
{
    private static readonly StraightLineTravel Travel = new(new());

    [Fact]
    public void The_explaining_check_says_of_every_start_what_the_search_counted()
    {
        var judged = 0;
        for (var seed = 50_000; seed < 50_500; seed++)
        {
            var (picture, wish) = RandomDiary.Make(seed);
            foreach (var diary in picture.Instructors)
            {
                var alone = picture with { Instructors = [diary] };
                var found = SlotSearch.Find(alone, wish, Travel, int.MaxValue);

                var verdicts = GridStarts(alone, wish, diary)
                    .Select(start => SlotSearch.Check(alone, wish, diary.Instructor.Id, start, Travel)).ToList();

                Assert.Equal(
                    verdicts.Where(verdict => verdict.Offer is not null).Select(verdict => verdict.Offer!),
                    found.Offers.OrderBy(offer => offer.Start));
                var told = verdicts.Where(verdict => verdict.Refusal is not null).CountBy(verdict => verdict.Refusal!.Rule).ToDictionary();
                foreach (var (rule, times) in found.Refusals.Where(refusal => refusal.Key != SlotRule.OutsideWorkingHours))
                {
                    Assert.Equal(told.GetValueOrDefault(rule), times);
                }

                judged += verdicts.Count;
            }
        }

        Assert.True(judged > 10_000, $"only {judged} starts");
    }

    [Fact]
    public void The_best_few_are_the_first_of_all()
    {
        var cut = 0;
        for (var seed = 60_000; seed < 60_650; seed++)
        {
            var (picture, wish) = RandomDiary.Make(seed);
            var all = SlotSearch.Find(picture, wish, Travel, int.MaxValue);
            foreach (var most in new[] { 0, 1, 3, 10 })
            {
                var few = SlotSearch.Find(picture, wish, Travel, most);
                Assert.Equal(all.Offers.Take(most), few.Offers);
                Assert.Equal((all.Found, all.Refusals), (few.Found, few.Refusals), SameTally);
                cut += few.Found > most ? 1 : 0;
            }
        }

        Assert.True(cut > 300, $"only {cut} searches were cut");
    }

    [Fact]
    public void A_workspace_that_was_used_before_answers_as_a_new_one()
    {
        var workspace = new SlotWorkspace();
        var offers = 0;
        for (var seed = 70_000; seed < 70_500; seed++)
        {
            var (picture, wish) = RandomDiary.Make(seed);
            var (ground, days) = Prepare(picture, wish);
            var best = new SlotStart[20];

            var tally = workspace.Search(ground, picture.Now, wish, days, best);

            var expected = SlotSearch.Find(picture, wish, Travel, best.Length);
            Assert.Equal(expected.Offers, best.Take(tally.Offered).Select(start => start.Offer(wish, days, picture.Zone)));
            Assert.Equal((expected.Found, expected.Refusals), (tally.Found, workspace.RefusalsByRule()), SameTally);
            offers += tally.Offered;
        }

        Assert.True(offers > 1000, $"only {offers} offers");
    }

    [Fact]
    public void A_warm_search_allocates_nothing()
    {
        var workspace = new SlotWorkspace();
        var best = new SlotStart[100];
        var subjects = Enumerable.Range(80_000, 50).Select(RandomDiary.Make)
            .Select(made => (made.Picture, Wish: made.Wish with { MovingLessonId = null }))
            .Select(made => (made.Picture, made.Wish, Prepared: Prepare(made.Picture, made.Wish))).ToList();

        int Run()
        {
            var found = 0;
            foreach (var (picture, wish, (ground, days)) in subjects)
            {
                found += workspace.Search(ground, picture.Now, wish, days, best).Found;
            }

            return found;
        }
        for (var warm = 0; warm < 3; warm++)
        {
            Run();
        }

        var before = GC.GetAllocatedBytesForCurrentThread();
        var offered = Run();
        var allocated = GC.GetAllocatedBytesForCurrentThread() - before;

        Assert.Equal(0, allocated);
        Assert.True(offered > 100, $"only {offered} offers");
    }

    private static bool SameTally(
        (int Found, IReadOnlyDictionary<SlotRule, int> Refusals) one, (int Found, IReadOnlyDictionary<SlotRule, int> Refusals) other) =>
        one.Found == other.Found && one.Refusals.OrderBy(count => count.Key).SequenceEqual(other.Refusals.OrderBy(count => count.Key));

    private static (SearchGround Ground, PreparedDay[] Days) Prepare(DiaryPicture picture, LessonWish wish)
    {
        var ground = new SearchGround(picture.Rules, picture.Zone, Travel);
        var dates = Enumerable.Range(0, Period.DaysBetween(wish.From, wish.To) + 1).Select(wish.From.PlusDays).ToList();
        return (ground, [.. picture.Instructors.SelectMany(diary => ground.Prepare(picture, diary, dates))]);
    }

    /// <summary>Every moment of the wish's dates on the grid at which the instructor is at work.</summary>
    private static IEnumerable<Instant> GridStarts(DiaryPicture picture, LessonWish wish, InstructorDiary diary)
    {
        var end = wish.To.PlusDays(1).AtStartOfDayInZone(picture.Zone).ToInstant();
        for (var moment = wish.From.AtStartOfDayInZone(picture.Zone).ToInstant(); moment < end; moment += Duration.FromMinutes(5))
        {
            var local = moment.InZone(picture.Zone);
            var minute = local.Hour * 60 + local.Minute;
            if (minute % picture.Rules.GridMinutes == 0
                && diary.Hours.Any(hours => hours.AppliesOn(local.Date) && hours.During(local.Date, picture.Zone).Contains(moment)))
            {
                yield return moment;
            }
        }
    }
}
