using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;

namespace School.Core.Tests.Diary.Slots;

/// <summary>Rests within a lesson. Two hours and fifteen minutes: The Highway Code, rule 91.</summary>
public sealed class LessonPlanTests
{
    [Theory]
    [InlineData(60, "")]
    [InlineData(120, "")]
    [InlineData(121, "61+15")]
    [InlineData(150, "75+15")]
    [InlineData(240, "120+15")]
    [InlineData(300, "100+15 215+15")]
    [InlineData(480, "120+15 255+15 390+15")]
    public void A_lesson_longer_than_two_hours_carries_rests(int minutes, string rests)
    {
        var plan = LessonPlan.Of(minutes, new());
        Assert.Equal(rests, string.Join(' ', plan.Breaks.Select(rest => $"{rest.After}+{rest.Minutes}")));
        Assert.Equal(minutes + plan.Breaks.Sum(rest => rest.Minutes), plan.Elapsed);
    }

    [Fact]
    public void Of_all_ways_to_part_a_lesson_the_plan_is_the_best()
    {
        for (var minutes = 1; minutes <= 20; minutes++)
        {
            for (var after = 1; after <= 12; after++)
            {
                var best = Parted(minutes, after).OrderBy(way => way.Count).ThenBy(way => way.Max() - way.Min())
                    .ThenByDescending(way => string.Concat(way.Select(stretch => (char)stretch)), StringComparer.Ordinal).First();
                var plan = LessonPlan.Of(minutes, new DiaryRules { RestAfterMinutes = after, RestMinutes = 3 });
                var (at, told) = (0, new List<int>());
                foreach (var rest in plan.Breaks)
                {
                    told.Add(rest.After - at);
                    at = rest.After + rest.Minutes;
                }

                Assert.Equal(best, [.. told, plan.Elapsed - at]);
            }
        }
    }

    [Fact]
    public void The_solver_plans_the_same_rests()
    {
        var random = new Random(11);
        for (var i = 0; i < 100; i++)
        {
            var rules = new DiaryRules { RestAfterMinutes = random.Next(30, 200), RestMinutes = random.Next(0, 40) };
            var minutes = random.Next(15, 481);
            Assert.Equal(BreakModel.Plan(minutes, rules), LessonPlan.Of(minutes, rules).Breaks);
        }
    }

    [Fact]
    public void A_school_that_asks_for_no_rests_gives_lessons_without() =>
        Assert.Equal((480, 0), (LessonPlan.Of(480, new() { RestMinutes = 0 }).Elapsed, LessonPlan.Of(480, new() { RestMinutes = 0 }).Breaks.Count));

    private static IEnumerable<List<int>> Parted(int minutes, int most)
    {
        if (minutes <= most)
        {
            yield return [minutes];
        }

        for (var first = 1; first <= Math.Min(most, minutes - 1); first++)
        {
            // More rests than twice the fewest are never better, and there would be very many ways.
            foreach (var rest in Parted(minutes - first, most).Where(rest => rest.Count <= (2 * (minutes / most)) + 1))
            {
                yield return [first, .. rest];
            }
        }
    }
}
