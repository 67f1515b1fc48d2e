using CsCheck;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Courses;
using School.Core.Diary.Slots;
using School.Core.Pupils;

namespace School.Core.Tests.Diary.Courses;

public sealed class CourseSearchTests
{
    private static readonly DiaryRules Usual = Larkfield.Rules with { BufferMinutes = 10, DailyTeachingMinutes = 420 };

    [Fact]
    public void Twenty_hours_in_a_week_are_five_days_of_four_hours_with_a_rest_in_each()
    {
        var plan = Plan(1200, 240);
        Assert.Equal(1200, plan.Minutes);
        Assert.Equal([240, 240, 240, 240, 240], plan.Lessons.Select(lesson => lesson.Offer.Plan.Minutes));
        Assert.All(plan.Lessons, lesson => Assert.Equal([new LessonBreak(120, 15)], lesson.Offer.Breaks));
        Assert.Equal([0, 1, 2, 3, 4], plan.Lessons.Select(lesson => Period.DaysBetween(Larkfield.Monday, lesson.Date)));
    }

    [Fact]
    public void More_hours_a_day_take_fewer_days_and_the_days_are_as_alike_as_can_be()
    {
        Assert.Equal([300, 300, 300, 300], Plan(1200, 300).Lessons.Select(lesson => lesson.Offer.Plan.Minutes));
        Assert.Equal([210, 210, 180], Plan(600, 240).Lessons.Select(lesson => lesson.Offer.Plan.Minutes).OrderDescending());
    }

    [Fact]
    public void What_does_not_fit_is_told_as_what_does()
    {
        var plan = Plan(1200, 180);
        Assert.Equal((900, 5), (plan.Minutes, plan.Lessons.Count));
        Assert.Contains(SlotRule.OutsideWorkingHours, Plan(1200, 180, to: 6).InTheWay.Keys);
    }

    [Fact]
    public void Lessons_have_the_lengths_that_the_school_names_for_the_kind()
    {
        var rules = Usual with { Kinds = [KindRule.Shipped[(int)LessonKind.Intensive] with { Minutes = [150] }] };
        var plan = Plan(600, 240, rules);
        Assert.Equal([150, 150, 150, 150], plan.Lessons.Select(lesson => lesson.Offer.Plan.Minutes));
        Assert.Equal((0, SlotRule.LengthNotOffered), (Plan(600, 120, rules).Minutes, Plan(600, 120, rules).InTheWay.Keys.Single()));
    }

    [Fact]
    public void The_pupils_own_times_and_the_days_left_out_are_kept_free_of_it()
    {
        AvailableTime[] times = [new(IsoDayOfWeek.Monday, new(12, 0), new(15, 0)), new(IsoDayOfWeek.Tuesday, new(9, 0), new(17, 0)), new(IsoDayOfWeek.Wednesday, new(9, 0), new(17, 0))];
        var plan = Plan(360, 240, times: times, leftOut: [Larkfield.Monday.PlusDays(1)]);
        Assert.Equal([Larkfield.Monday, Larkfield.Monday.PlusDays(2)], plan.Lessons.Select(lesson => lesson.Date));
        Assert.Equal((Larkfield.At(12), 150), (plan.Lessons[0].Offer.Start, plan.Lessons[0].Offer.Plan.Minutes));
    }

    [Fact]
    public void Other_lessons_of_the_pupil_count_in_what_a_day_may_have()
    {
        var busy = Larkfield.Pupil with { Lessons = [new(Guid.NewGuid(), new(Larkfield.At(16), Larkfield.At(17) + Duration.FromMinutes(45))) { BreakMinutes = 15 }] };
        var plan = CourseSearch.Plan(
            Larkfield.Picture(Larkfield.DiaryWith(), Usual),
            new(Larkfield.Wish() with { Pupil = busy, To = Larkfield.Monday, NoticeApplies = false, AnyStart = true, Kind = LessonKind.Intensive }, 240, 240, [], []),
            Larkfield.InstructorId, Larkfield.OneRoad);
        Assert.Equal(150, plan.Lessons.Single().Offer.Plan.Minutes);
    }

    [Theory]
    [InlineData(750, 720, 780, 120, 180, 240)]
    [InlineData(1200, 1080, 1260, 180)]
    [InlineData(720, 720, 720, 120, 180, 240)]
    [InlineData(120, 0, 180, 180)]
    [InlineData(200, 180, 210, 90, 120)]
    public void The_nearest_hours_that_lessons_make_up(int asked, int below, int above, params int[] lengths) =>
        Assert.Equal((below, above), CourseSums.Nearest(lengths, asked));

    /// <summary>Bellman's program against all ways there are.</summary>
    [Fact]
    public void No_way_to_spread_a_course_is_better()
    {
        var (whole, part, limited) = (0, 0, 0);
        Gen.Int[0, int.MaxValue].Sample(
            seed =>
            {
                var (picture, wish) = RandomCourse.Make(seed);
                var plan = CourseSearch.Plan(picture, wish, Larkfield.InstructorId, Larkfield.OneRoad);
                var best = new CourseJudge(picture, wish, Lengths(picture.Rules, wish)).Best();
                Assert.Equal(best, (plan.Minutes, plan.Cost.Days, plan.Cost.Unevenness, plan.Cost.ExtraDriving, plan.Cost.Lateness));
                Interlocked.Add(ref whole, plan.Minutes == wish.Minutes ? 1 : 0);
                Interlocked.Add(ref part, plan.Minutes < wish.Minutes && plan.Lessons.Count > 0 ? 1 : 0);
                Interlocked.Add(ref limited, wish.Lesson.Pupil.WeeklyMinutes is not null && plan.Lessons.Count > 1 ? 1 : 0);
            },
            iter: 800);
        Assert.True(whole > 20 && part > 20 && limited > 20, $"{whole} whole, {part} in part, {limited} with a limit of the week");
    }

    [Fact]
    public void Booked_one_after_the_other_every_lesson_keeps_every_rule() => Gen.Int[0, int.MaxValue].Sample(
        seed =>
        {
            var (picture, wish) = RandomCourse.Make(seed);
            var pupil = wish.Lesson.Pupil;
            foreach (var (date, offer) in CourseSearch.Plan(picture, wish, Larkfield.InstructorId, Larkfield.OneRoad).Lessons)
            {
                Assert.Equal(date, offer.Start.InZone(picture.Zone).Date);
                var verdict = SlotSearch.Check(picture, wish.Lesson with { Pupil = pupil, Minutes = offer.Plan.Minutes }, Larkfield.InstructorId, offer.Start, Larkfield.OneRoad);
                Assert.Equal((offer.Start, offer.End, offer.CarId), (verdict.Offer?.Start, verdict.Offer?.End, verdict.Offer?.CarId));
                var (id, during) = (Guid.NewGuid(), new Interval(offer.Start, offer.End));
                var diary = picture.Instructors[0];
                var entry = new DiaryEntry(id, EntryKind.Lesson, during, pupil.Id, offer.CarId, wish.Lesson.PickUp, wish.Lesson.DropOff) { Breaks = offer.Breaks };
                picture = picture with { Instructors = [diary with { Entries = [.. diary.Entries, entry] }], CarBusy = [.. picture.CarBusy, new(offer.CarId, id, during)] };
                pupil = pupil with { Lessons = [.. pupil.Lessons, new(id, during) { BreakMinutes = offer.Plan.BreakMinutes }] };
            }
        },
        iter: 300);

    /// <summary>As the description has it.</summary>
    private static List<int> Lengths(DiaryRules rules, CourseWish wish)
    {
        var own = rules.Kinds.FirstOrDefault(kind => kind.Kind == LessonKind.Intensive)?.Minutes;
        return [.. (own ?? Enumerable.Range(2, 14).Select(half => half * 30)).Where(minutes => minutes <= wish.MostADay)];
    }

    private static CoursePlan Plan(
        int minutes, int mostADay, DiaryRules? rules = null, IReadOnlyList<AvailableTime>? times = null, IReadOnlyCollection<LocalDate>? leftOut = null, int to = 4) => CourseSearch.Plan(
            Larkfield.Picture(Larkfield.DiaryWith(), rules ?? Usual),
            new(Larkfield.Wish() with { To = Larkfield.Monday.PlusDays(to), NoticeApplies = false, AnyStart = true, Kind = LessonKind.Intensive }, minutes, mostADay, times ?? [], leftOut ?? []),
            Larkfield.InstructorId, Larkfield.OneRoad);
}
