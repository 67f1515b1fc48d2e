using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Pupils;
using Xunit;
using static School.Core.Tests.Diary.Larkfield;

namespace School.Core.Tests.Diary.Slots;

public sealed class DiaryAuditTests
{
    [Fact]
    public void A_diary_in_order_needs_no_attention() =>
        Assert.Empty(Audit(DiaryWith(Lesson(9, 0, 60, begins: 10), Lesson(10, 30, 90, begins: 20), Lesson(13, 0, 120))));

    /// <summary>What was agreed as a rest stays one: neither is the lesson told, nor is the rest of its day shut.</summary>
    [Fact]
    public void A_lesson_with_shorter_rests_than_the_rules_now_ask_for_is_in_order()
    {
        var kept = Lesson(9, 0, 260) with { Breaks = [new(120, 10), new(250, 5)] };
        var diary = DiaryWith(kept, Lesson(15, 0, 60));

        Assert.Empty(Audit(diary));
        Assert.Contains(SlotSearch.Find(Picture(diary), Wish(60), OneRoad, 10).Offers, offer => offer.Start == At(13, 45));
        // One that comes too soon after it lacks its rest as ever.
        var soon = Lesson(13, 25, 60);
        Told(DiaryWith(Lesson(9, 0, 255) with { Breaks = [new(120, 10)] }, soon), (soon, "rest_needed", "The instructor needs a rest of 15 minutes after 120 minutes of work. Choose a time that leaves one."));
    }

    [Fact]
    public void Lessons_outside_changed_hours_are_told()
    {
        var (morning, afternoon) = (Lesson(9, 0, 60), Lesson(14, 0, 60));
        var diary = DiaryWith(afternoon, morning) with
        {
            Hours = [new(IsoDayOfWeek.Monday, new LocalTime(9, 0), new LocalTime(14, 30), Monday, null)],
        };

        Told(diary, (afternoon, "outside_working_hours", "The instructor works 09:00 to 14:30 on that day. Choose a time at which the whole lesson fits."));
    }

    [Fact]
    public void Time_off_over_a_lesson_is_told()
    {
        var lesson = Lesson(9, 0, 60);

        Told(DiaryWith(lesson) with { TimeOff = [new Interval(At(9, 59), null)] },
            (lesson, "time_off", "The instructor is off at that time. Move the lesson or choose another instructor."));
    }

    [Fact]
    public void A_registration_that_lapses_is_told()
    {
        var lesson = Lesson(9, 0, 60);

        Told(DiaryWith(lesson) with { Instructor = Instructor with { RegisteredTo = Monday.PlusDays(-1) } },
            (lesson, "instructor_not_registered", "The instructor's registration ends on 7 June 2026. Choose another date or another instructor."));
    }

    [Fact]
    public void Busy_time_over_a_lesson_is_told()
    {
        var lesson = Lesson(9, 0, 60);

        Told(DiaryWith(lesson, Busy(9, 30, 15)),
            (lesson, "instructor_busy", "The instructor has something else at that time. Move one of them or choose another instructor."));
    }

    [Fact]
    public void A_drive_that_does_not_fit_is_told_for_the_later_lesson()
    {
        var (first, second) = (Lesson(9, 0, 60), Lesson(10, 20, 60, begins: 30));

        Told(DiaryWith(first, second),
            (second, "no_time_to_get_there", "The instructor needs 35 minutes to get from one place to the other and has 20. Choose a time with more room."));
    }

    [Fact]
    public void The_drives_from_and_to_base_are_told_when_they_are_work()
    {
        var (first, last) = (Lesson(9, 20, 60, begins: 20), Lesson(15, 40, 60, begins: 20));
        var diary = DiaryWith(first, last);

        Assert.Empty(Audit(diary));
        Assert.Equal([first.Id, last.Id], Audit(diary, Larkfield.Rules with { FirstLegIsWork = true, LastLegIsWork = true }).Select(told => told.LessonId));
    }

    [Fact]
    public void A_missing_rest_is_told_for_the_lesson_after_it()
    {
        var (first, second) = (Lesson(9, 0, 120), Lesson(11, 10, 60));

        Told(DiaryWith(first, second),
            (second, "rest_needed", "The instructor needs a rest of 15 minutes after 120 minutes of work. Choose a time that leaves one."));
    }

    [Fact]
    public void The_lesson_that_passes_the_daily_limit_is_told()
    {
        var (first, second) = (Lesson(9, 0, 120), Lesson(12, 0, 120));

        Told(DiaryWith(first, second) with { Instructor = Instructor with { DailyTeachingMinutes = 180 } },
            (second, "daily_limit", "That would make 240 minutes of teaching on that day, and the instructor's limit is 180. Choose another day or a shorter lesson."));
    }

    [Fact]
    public void What_is_wrong_with_the_car_is_told()
    {
        var lesson = Lesson(9, 0, 60);
        var diary = DiaryWith(lesson);

        Problem("has no MOT on that date", Car with { MotExpires = Monday.PlusDays(-1) });
        Problem("is not insured on that date", Car with { InsuranceExpires = Monday.PlusDays(-1) });
        Problem("is off the road at that time", Car with { OffRoad = [During(9, 30, 10)] });
        Problem("is not with this instructor at that time", Car, diary with { Holds = [diary.Holds[0] with { During = new Interval(null, At(9, 30)) }] });
        Problem("is not with this instructor", Car, diary with { Holds = [] });
        Problem("has not been chosen yet", Car, diary with { Entries = [lesson with { CarId = null }] });

        void Problem(string problem, CarFacts car, InstructorDiary? changed = null)
        {
            var told = Assert.Single(DiaryAudit.Find(Picture(diary) with { Cars = [car] }, changed ?? diary, OneRoad));
            Assert.Equal(new ImpossibleLesson(lesson.Id, new(SlotRule.NoSuitableCar, "no_suitable_car", $"The car {problem}. Choose another car or move the lesson.")), told);
        }
    }

    [Fact]
    public void A_car_that_another_lesson_takes_is_told()
    {
        var lesson = Lesson(9, 0, 60);
        var picture = Picture(DiaryWith(lesson));
        picture = picture with { CarBusy = [.. picture.CarBusy, new CarBusy(CarId, Guid.NewGuid(), During(9, 30, 60))] };

        Assert.Equal("car_busy", Assert.Single(DiaryAudit.Find(picture, DiaryWith(lesson), OneRoad)).Refusal.Code);
    }

    [Fact]
    public void What_is_known_of_the_pupil_is_told()
    {
        var lesson = Lesson(9, 0, 60) with { PupilId = PupilId };
        var other = new PupilLesson(Guid.NewGuid(), During(8, 30, 60));

        Assert.Empty(With(Pupil));
        Assert.Equal("pupil_too_young", Assert.Single(With(Pupil with { BirthDate = new LocalDate(2010, 1, 1) })).Refusal.Code);
        Assert.Equal("no_provisional_licence", Assert.Single(With(Pupil with { Licence = Licence.Provisional(Monday.PlusDays(1)) })).Refusal.Code);
        // What is only not seen yet is looked at before driving: the lesson stands. On a motorway it does not.
        Assert.Empty(With(Pupil with { Licence = null, BirthDate = null, Missing = FirstLessonNeeds.Licence | FirstLessonNeeds.BirthDate }));
        Assert.Equal("no_provisional_licence", Assert.Single(Of(lesson with { LessonKind = LessonKind.Motorway }, Pupil with { Licence = null })).Refusal.Code);
        Assert.Equal("wrong_gearbox", Assert.Single(With(Pupil with { Gearbox = Gearbox.Automatic })).Refusal.Code);
        Assert.Equal("pupil_busy", Assert.Single(With(Pupil with { Lessons = [other] })).Refusal.Code);
        Assert.Equal("weekly_limit", Assert.Single(With(Pupil with { WeeklyMinutes = 59 })).Refusal.Code);

        IReadOnlyList<ImpossibleLesson> With(PupilFacts pupil) => Of(lesson, pupil);

        static IReadOnlyList<ImpossibleLesson> Of(DiaryEntry lesson, PupilFacts pupil) => DiaryAudit.Find(
            Picture(DiaryWith(lesson)), DiaryWith(lesson), OneRoad, new Dictionary<Guid, PupilFacts> { [PupilId] = pupil });
    }

    [Fact]
    public void What_has_begun_is_left_alone()
    {
        var diary = DiaryWith(Lesson(9, 0, 60)) with { Hours = [] };

        Assert.Single(DiaryAudit.Find(Picture(diary) with { Now = At(8, 59) }, diary, OneRoad));
        Assert.Empty(DiaryAudit.Find(Picture(diary) with { Now = At(9) }, diary, OneRoad));
    }

    private static IReadOnlyList<ImpossibleLesson> Audit(InstructorDiary diary, DiaryRules? rules = null) =>
        DiaryAudit.Find(Picture(diary, rules), diary, OneRoad);

    private static void Told(InstructorDiary diary, params (DiaryEntry Lesson, string Code, string Sentence)[] expected) =>
        Assert.Equal(expected.Select(told => (told.Lesson.Id, told.Code, told.Sentence)),
            Audit(diary).Select(told => (told.LessonId, told.Refusal.Code, told.Refusal.Telling.ToStaff)));
}
