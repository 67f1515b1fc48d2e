using CsCheck;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Order;
using School.Core.Diary.Slots;
using School.Core.Pupils;
using School.Core.Travel;
using static School.Core.Tests.Diary.Larkfield;

namespace School.Core.Tests.Diary.Order;

public sealed class BetterOrderTests
{
    private static readonly Dictionary<Guid, PupilFacts> Unknown = [];

    [Fact]
    public void A_lesson_out_of_the_way_moves_to_where_it_is_on_the_way()
    {
        var near = Lesson(11, 0, 60, begins: 5);
        var diary = DiaryWith(Lesson(9, 0, 60, begins: 30), near, Lesson(13, 0, 60, begins: 30));
        var better = Find(diary, new() { [near.Id] = [During(13, 30, 180)] })!;

        var move = Assert.Single(better.Moves);
        // Half an hour after the lesson before: 25 minutes' drive and 5 to park.
        Assert.Equal((near.Id, During(14, 30, 60)), (move.Entry.Id, move.To));
        Assert.Equal((110, 60), (better.Before.DrivingMinutes, better.After.DrivingMinutes));
    }

    [Fact]
    public void Where_every_lesson_could_move_as_few_as_need_be_do()
    {
        var near = Lesson(10, 30, 60, begins: 2);
        var diary = DiaryWith(Lesson(9, 0, 60, begins: 20), near, Lesson(12, 0, 60, begins: 20));
        var better = Find(diary, diary.Entries.ToDictionary(entry => entry.Id, _ => (IReadOnlyList<Interval>)[During(9, 0, 480)]))!;

        Assert.Equal((near.Id, At(13, 30)), (Assert.Single(better.Moves).Entry.Id, better.Moves[0].To.Start));
    }

    [Fact]
    public void Lessons_whose_pupils_gave_no_times_stay()
    {
        var diary = DiaryWith(Lesson(9, 0, 60, begins: 30), Lesson(11, 0, 60, begins: 5), Lesson(13, 0, 60, begins: 30));
        Assert.Null(Find(diary, []));
    }

    [Fact]
    public void A_move_that_would_leave_no_time_for_a_rest_is_not_proposed()
    {
        var second = Lesson(15, 30, 60, begins: 30);
        var diary = DiaryWith(Lesson(9, 0, 120, begins: 30), Lesson(13, 30, 60, begins: 5), second);
        var everyFiveMinutes = Larkfield.Rules with { GridMinutes = 5 };
        var better = Find(diary, new() { [second.Id] = [During(11, 0, 75)] }, everyFiveMinutes);

        // Five minutes to park would do after two hours' work, were it not for the rest of a quarter of an hour.
        Assert.Equal(At(11, 15), Assert.Single(better!.Moves).To.Start);
        Assert.Null(Find(diary, new() { [second.Id] = [During(11, 0, 70)] }, everyFiveMinutes));
        Assert.NotNull(Find(diary, new() { [second.Id] = [During(11, 0, 70)] }, everyFiveMinutes with { RestMinutes = 0 }));
    }

    [Fact]
    public void What_has_begun_stays_and_nothing_moves_into_the_past()
    {
        var near = Lesson(11, 0, 60, begins: 5);
        var diary = DiaryWith(Lesson(9, 0, 60, begins: 30), near, Lesson(13, 0, 60, begins: 30));
        var movable = new Dictionary<Guid, IReadOnlyList<Interval>> { [near.Id] = [During(13, 30, 180)] };
        Assert.NotNull(BetterOrder.Find(Picture(diary) with { Now = At(10, 30) }, diary, Monday, OneRoad, Unknown, movable).Better);
        Assert.Null(BetterOrder.Find(Picture(diary) with { Now = At(11) }, diary, Monday, OneRoad, Unknown, movable).Better);
    }

    [Fact]
    public void Where_every_order_fits_the_driving_is_the_least_of_all_orders()
    {
        var found = 0;
        Gen.Int[0, int.MaxValue - 1].Sample(seed =>
        {
            var random = new Random(seed);
            var places = Enumerable.Range(0, 4).Select(_ => (From: random.Next(31), To: random.Next(31))).ToArray();
            var lessons = places.Select((place, i) => Lesson(9 + 2 * i, 0, 60, place.From, place.To)).ToArray();
            var diary = DiaryWith(lessons);
            var better = Find(diary, lessons.ToDictionary(lesson => lesson.Id, _ => (IReadOnlyList<Interval>)[During(9, 0, 480)]), new() { RestMinutes = 0 });
            var least = Orders([0, 1, 2, 3]).Min(order => Driving(places, order));
            var today = Driving(places, [0, 1, 2, 3]);
            Assert.Equal(least < today ? least : null, better?.After.DrivingMinutes);
            Interlocked.Add(ref found, better is null ? 0 : 1);
        }, iter: 200);
        Assert.InRange(found, 50, 199);
    }

    [Fact]
    public void A_proposal_drives_less_breaks_no_rule_and_keeps_to_the_times_given()
    {
        var found = 0;
        var travel = new StraightLineTravel(new());
        Gen.Int[1_000_000, int.MaxValue - 1].Sample(seed =>
        {
            var (picture, wish) = RandomDiary.Make(seed);
            var (random, diary) = (new Random(seed), picture.Instructors[0]);
            var movable = diary.Entries.Where(entry => entry.Kind == EntryKind.Lesson)
                .ToDictionary(entry => entry.Id, _ => (IReadOnlyList<Interval>)[Times(picture, wish.From, random)]);
            var known = new Dictionary<Guid, PupilFacts> { [wish.Pupil.Id] = wish.Pupil };
            if (BetterOrder.Find(picture, diary, wish.From, travel, known, movable).Better is not { } better)
            {
                return;
            }

            Interlocked.Increment(ref found);
            var to = better.Moves.ToDictionary(move => move.Entry.Id, move => move.To);
            var after = diary with { Entries = [.. diary.Entries.Select(entry => to.TryGetValue(entry.Id, out var at) ? entry with { During = at } : entry)] };
            Assert.True(DayRoute.Build(picture.Rules, picture.Zone, after, wish.From, travel).DrivingMinutes
                < DayRoute.Build(picture.Rules, picture.Zone, diary, wish.From, travel).DrivingMinutes);
            Assert.All(better.Moves, move =>
            {
                Assert.True(move.Entry.During.Start > picture.Now && move.To.Start >= picture.Now);
                Assert.Equal(move.Entry.During.Duration, move.To.Duration);
                Assert.Contains(movable[move.Entry.Id], time => time.Start <= move.To.Start && move.To.End <= time.End);
            });
            var busy = picture with { CarBusy = [.. picture.CarBusy.Select(taken => to.TryGetValue(taken.LessonId, out var at) ? taken with { During = at } : taken)] };
            var before = DiaryAudit.Find(picture, diary, travel, known).Select(told => told.LessonId).ToHashSet();
            Assert.Subset(before, DiaryAudit.Find(busy, after, travel).Select(told => told.LessonId).ToHashSet());
        }, iter: 2000);
        Assert.True(found > 20, $"Only {found} proposals.");
    }

    private static Interval Times(DiaryPicture picture, LocalDate date, Random random)
    {
        var start = picture.Zone.AtStartOfDay(date).ToInstant() + Duration.FromMinutes(random.Next(6, 14) * 60);
        return new(start, start + Duration.FromHours(random.Next(2, 12)));
    }

    private static BetterDay? Find(InstructorDiary diary, Dictionary<Guid, IReadOnlyList<Interval>> movable, DiaryRules? rules = null) =>
        BetterOrder.Find(Picture(diary, rules), diary, Monday, OneRoad, Unknown, movable).Better;

    private static int Driving((int From, int To)[] places, int[] order)
    {
        var (at, driven) = (0, 0);
        foreach (var i in order)
        {
            (driven, at) = (driven + Math.Abs(places[i].From - at), places[i].To);
        }

        return driven + at;
    }

    private static IEnumerable<int[]> Orders(int[] left) => left.Length == 0
        ? [[]]
        : left.SelectMany(first => Orders([.. left.Where(other => other != first)]).Select(rest => (int[])[first, .. rest]));
}
