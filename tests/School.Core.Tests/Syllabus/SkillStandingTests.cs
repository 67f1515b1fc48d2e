using CsCheck;
using NodaTime;
using School.Core.Syllabus;

namespace School.Core.Tests.Syllabus;

public sealed class SkillStandingTests
{
    private static readonly LocalDate Day = new(2026, 3, 2);

    [Fact]
    public void The_last_level_stands_and_every_move_is_kept_with_the_hours_taught_by_then()
    {
        var standing = SkillStanding.Of([Lesson(0, 60, SkillLevel.Introduced), Lesson(7, 90), Lesson(14, 45, SkillLevel.Prompted)])["junctions"];
        Assert.Equal(SkillLevel.Prompted, standing.Level);
        Assert.Equal(Day.PlusDays(14), standing.LastOn);
        Assert.Equal([new(Day, SkillLevel.Introduced, 60), new(Day.PlusDays(14), SkillLevel.Prompted, 195)], standing.Moves);
    }

    // The driver's record says so itself: gov.uk, "Record your pupils' progress learning to drive", updated 7 February 2023.
    [Fact]
    public void A_level_can_go_down()
    {
        var standing = SkillStanding.Of([Lesson(0, 60, SkillLevel.Independent), Lesson(7, 60, SkillLevel.Helped), Lesson(9, 60, SkillLevel.Helped)])["junctions"];
        Assert.Equal((SkillLevel.Helped, SkillLevel.Independent, true), (standing.Level, standing.Before, standing.WentDown));
    }

    [Fact]
    public void A_skill_never_marked_has_no_standing_and_one_that_never_moved_no_level_before()
    {
        Assert.Empty(SkillStanding.Of([Lesson(0, 60)]));
        var standing = SkillStanding.Of([Lesson(0, 60, SkillLevel.Helped), Lesson(3, 60, SkillLevel.Helped)])["junctions"];
        Assert.Null(standing.Before);
        Assert.False(standing.WentDown);
    }

    [Fact]
    public void Lessons_out_of_order_are_refused() =>
        Assert.Throws<ArgumentException>(() => SkillStanding.Of([Lesson(7, 60), Lesson(0, 60)]));

    [Fact]
    public void Every_mark_is_found_again_in_exactly_one_move() =>
        Gen.Select(Gen.Int[0, 4], Gen.Int[1, 5], Gen.Int[0, 3]).List[0, 40].Sample(marks =>
        {
            var on = Day;
            var lessons = marks.ConvertAll(mark =>
            {
                on = on.PlusDays(mark.Item3);
                return new TaughtLesson(on, 60, [new($"s{mark.Item1}", (SkillLevel)mark.Item2)]);
            });
            var standings = SkillStanding.Of(lessons);
            Assert.Equal(marks.Count, standings.Values.Sum(standing => standing.Moves.Count));
            foreach (var (skill, standing) in standings)
            {
                Assert.Equal(lessons.Where(l => l.Marks[0].Skill == skill).Select(l => l.Marks[0].Level), standing.Moves.Select(move => move.Level));
                Assert.Equal(standing.Moves.OrderBy(move => move.MinutesTaught), standing.Moves);
            }
        });

    private static TaughtLesson Lesson(int day, int minutes, SkillLevel? level = null) =>
        new(Day.PlusDays(day), minutes, level is { } given ? [new("junctions", given)] : []);
}
