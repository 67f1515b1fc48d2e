using System.Text.RegularExpressions;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Diary.Time;
using School.Core.Pupils;
using Xunit;
using static School.Core.Tests.Diary.Larkfield;

namespace School.Core.Tests.Diary.Slots;

/// <summary>One example for each rule, and for what a person is told.</summary>
public sealed class SlotCheckTests
{
    [Fact]
    public void A_free_hour_is_offered_with_its_car_and_driving()
    {
        var offer = Check(DiaryWith(), Wish(pickUp: 12, dropOff: 8), At(10)).Offer;

        Assert.Equal(new SlotOffer(At(10), At(11), InstructorId, CarId, 20, 0, "20 minutes more driving.", new(60, 1, 15)), offer);
    }

    [Fact]
    public void A_lesson_beside_its_neighbours_costs_only_the_detour()
    {
        var diary = DiaryWith(Lesson(9, 0, 60, begins: 10), Lesson(12, 0, 60, begins: 30));

        // 10 → 15 → 20 → 30 instead of 10 → 30: no more road; 10 minutes are left before and 30 after.
        var offer = Check(diary, Wish(pickUp: 15, dropOff: 20), At(10, 15)).Offer!;

        Assert.Equal((0, 5 + 30), (offer.ExtraDrivingMinutes, offer.UnusableGapMinutes));
        Assert.Equal("No extra driving; leaves 35 minutes that no lesson fits.", offer.Reason);
    }

    [Fact]
    public void A_lesson_that_leaves_next_to_nothing_fills_the_gap()
    {
        var diary = DiaryWith(Lesson(9, 0, 60, begins: 10), Lesson(11, 25, 60, begins: 30));

        // 5 minutes are left before and none after: less than a step of the grid.
        var offer = SlotSearch.Check(
            Picture(diary, Larkfield.Rules with { RestMinutes = 0 }), Wish(pickUp: 15, dropOff: 25), InstructorId, At(10, 15), OneRoad).Offer!;

        Assert.Equal(new SlotOffer(At(10, 15), At(11, 15), InstructorId, CarId, 0, 5, "No extra driving; fills the gap before 11:25.", new(60, 1, 0)), offer);
    }

    [Fact]
    public void A_time_that_has_passed_is_refused_even_to_staff() =>
        Refused("in_the_past", "That time has passed. Choose a later one.",
            DiaryWith(), Wish() with { NoticeApplies = false }, At(Monday.PlusDays(-5), 10));

    [Fact]
    public void A_start_off_the_grid_is_refused() =>
        Refused("off_the_grid", "Lessons start every 15 minutes, counted from midnight. Choose a start such as 10:00.",
            DiaryWith(), Wish(), At(10, 10));

    [Fact]
    public void A_length_that_is_not_offered_is_refused() =>
        Refused("length_not_offered", "Lessons last 60, 90 or 120 minutes. Choose one of these lengths.",
            DiaryWith(), Wish(75), At(10));

    [Fact]
    public void Staff_may_choose_any_start_and_length() =>
        Assert.NotNull(Check(DiaryWith(), Wish(75) with { AnyStart = true }, At(10, 10)).Offer);

    [Fact]
    public void No_lesson_lasts_less_than_a_minute() =>
        Refused("length_not_offered", "A lesson must last at least a minute. Choose a longer one.",
            DiaryWith(), Wish(0) with { AnyStart = true }, At(10));

    [Fact]
    public void A_pupil_cannot_book_inside_notice()
    {
        var picture = Picture(DiaryWith()) with { Now = At(Monday.PlusDays(-1), 10, 1) };

        var refusal = SlotSearch.Check(picture, Wish(), InstructorId, At(10), OneRoad).Refusal;

        Assert.Equal(("inside_notice", "Lessons are booked at least 24 hours ahead. Choose a later time, or ask the office."), (refusal!.Code, refusal.Telling.ToStaff));
        Assert.NotNull(SlotSearch.Check(picture with { Now = At(Monday.PlusDays(-1), 10) }, Wish(), InstructorId, At(10), OneRoad).Offer);
        Assert.NotNull(SlotSearch.Check(picture, Wish() with { NoticeApplies = false }, InstructorId, At(10), OneRoad).Offer);
    }

    [Fact]
    public void A_pupil_cannot_book_beyond_the_horizon()
    {
        var lastDay = Monday.PlusDays(-4 + 84);

        Refused("beyond_horizon", "Lessons can be booked up to 27 August 2026. Choose an earlier date.",
            DiaryWith(), Wish(), At(lastDay.PlusDays(1), 10));
        Assert.NotNull(Check(DiaryWith(), Wish(), At(lastDay, 10)).Offer);
    }

    [Fact]
    public void A_pupil_under_age_on_the_date_is_refused()
    {
        var almost = Pupil with { BirthDate = new LocalDate(2009, 6, 9) };

        Refused("pupil_too_young", "The pupil is under 17 on that date. Choose 9 June 2026 or later.",
            DiaryWith(), Wish() with { Pupil = almost }, At(10));
        Assert.NotNull(Check(DiaryWith(), Wish() with { Pupil = almost }, At(Monday.PlusDays(1), 10)).Offer);
        Assert.NotNull(Check(DiaryWith(), Wish() with { Pupil = almost with { MobilityAward = true } }, At(10)).Offer);
    }

    [Fact]
    public void A_provisional_licence_is_needed_on_the_date()
    {
        Refused("no_provisional_licence", "No provisional licence is recorded for the pupil. Ask the office to record it first.",
            DiaryWith(), Wish() with { Pupil = Pupil with { Licence = null } }, At(10));
        Refused("no_provisional_licence", "The pupil's provisional licence is valid from 9 June 2026. Choose that date or later.",
            DiaryWith(), Wish() with { Pupil = Pupil with { Licence = Licence.Provisional(Monday.PlusDays(1)) } }, At(10));
    }

    [Theory]
    [InlineData(false, LessonKind.Standard, false, null)]
    [InlineData(false, LessonKind.Motorway, false, "details_missing")]
    [InlineData(false, LessonKind.TestDay, false, "details_missing")]
    [InlineData(true, LessonKind.Standard, false, "details_missing")]
    [InlineData(true, LessonKind.Standard, true, null)]
    public void Licence_and_date_of_birth_are_seen_before_driving_where_staff_book_or_a_lesson_that_stands_is_moved(bool byPupil, LessonKind kind, bool moves, string? code)
    {
        var unseen = Pupil with { Licence = null, BirthDate = null, Missing = FirstLessonNeedsWords.Of(null, Gearbox.Manual, true, false) };
        var wish = Wish() with { Pupil = unseen, NoticeApplies = byPupil, Kind = kind, MovingLessonId = moves ? Guid.NewGuid() : null };
        Assert.Equal(code, Check(DiaryWith(), wish, At(Monday.PlusDays(1), 10)).Refusal?.Code);
        // What is known and wrong refuses whoever asks.
        Assert.Equal("eyesight_failed", Check(DiaryWith(), wish with { Pupil = unseen with { EyesightFailedOn = Monday, Missing = FirstLessonNeeds.None, Licence = Licence.Provisional(new(2020, 1, 1)) }, Kind = LessonKind.Standard }, At(Monday.PlusDays(1), 10)).Refusal?.Code);
    }

    [Fact]
    public void An_instructor_who_does_not_teach_the_gearbox_is_refused() =>
        Refused("wrong_gearbox", "The instructor does not teach in automatic cars. Choose another instructor.",
            DiaryWith(), Wish() with { Pupil = Pupil with { Gearbox = Gearbox.Automatic } }, At(10));

    [Fact]
    public void Registration_lasts_through_its_last_day()
    {
        var trainee = Instructor with { Kind = RegistrationKind.Trainee, RegisteredTo = Monday };

        Assert.NotNull(Check(DiaryWith() with { Instructor = trainee }, Wish(), At(10)).Offer);
        Refused("instructor_not_registered", "The instructor's trainee licence ends on 8 June 2026. Choose another date or another instructor.",
            DiaryWith() with { Instructor = trainee }, Wish(), At(Monday.PlusDays(1), 10));
        Refused("instructor_not_registered", "The instructor's registration begins on 9 June 2026. Choose another date or another instructor.",
            DiaryWith() with { Instructor = Instructor with { RegisteredFrom = Monday.PlusDays(1) } }, Wish(), At(10));
    }

    // Road Traffic Act 1988, section 129(6): a licence for which another was applied for before it ended goes on until that is decided.
    [Fact]
    public void A_trainee_who_applied_again_in_time_goes_on_and_nobody_else_does()
    {
        var trainee = Instructor with { Kind = RegistrationKind.Trainee, RegisteredTo = Monday, AppliedAgainOn = Monday };

        Assert.NotNull(Check(DiaryWith() with { Instructor = trainee }, Wish(), At(Monday.PlusDays(1), 10)).Offer);
        foreach (var other in new[]
        {
            trainee with { AppliedAgainOn = Monday.PlusDays(1) }, trainee with { AppliedAgainOn = null }, trainee with { Kind = RegistrationKind.Approved },
        })
        {
            Assert.Null(Check(DiaryWith() with { Instructor = other }, Wish(), At(Monday.PlusDays(1), 10)).Offer);
        }
    }

    [Fact]
    public void The_whole_lesson_lies_inside_one_span_of_working_hours()
    {
        Refused("outside_working_hours", "The instructor works 09:00 to 17:00 on that day. Choose a time at which the whole lesson fits.",
            DiaryWith(), Wish(), At(16, 15));
        Refused("outside_working_hours", "The instructor does not work on that day. Choose another day or another instructor.",
            DiaryWith(), Wish(), At(Monday.PlusDays(5), 10));
        Assert.NotNull(Check(DiaryWith(), Wish(), At(16)).Offer);
    }

    [Fact]
    public void Spans_that_touch_count_as_one()
    {
        WorkingHours Span(int from, int to) => new(IsoDayOfWeek.Monday, new LocalTime(from, 0), new LocalTime(to, 0), Monday, null);

        Assert.NotNull(Check(DiaryWith() with { Hours = [Span(12, 15), Span(9, 12)] }, Wish(), At(11, 30)).Offer);
        Refused("outside_working_hours", "The instructor works 09:00 to 12:00 and 13:00 to 15:00 on that day. Choose a time at which the whole lesson fits.",
            DiaryWith() with { Hours = [Span(13, 15), Span(9, 12)] }, Wish(), At(11, 30));
    }

    [Fact]
    public void Time_off_is_kept_free()
    {
        var diary = DiaryWith() with { TimeOff = [During(11, 0, 60)] };

        Refused("time_off", "The instructor is off at that time. Choose another time or another instructor.", diary, Wish(), At(10, 15));
        Assert.NotNull(Check(diary, Wish(), At(10)).Offer);
        Assert.NotNull(Check(diary, Wish(), At(12)).Offer);
    }

    [Fact]
    public void An_instructor_with_something_else_is_busy() =>
        Refused("instructor_busy", "The instructor already has something at that time. Choose another time or another instructor.",
            DiaryWith(Busy(10, 45, 30)), Wish(), At(10));

    [Fact]
    public void A_pupil_has_one_lesson_at_a_time() =>
        Refused("pupil_busy", "The pupil already has a lesson at that time. Choose another time.",
            DiaryWith(), Wish() with { Pupil = Pupil with { Lessons = [new PupilLesson(Guid.NewGuid(), During(10, 30, 60))] } }, At(10));

    [Fact]
    public void The_week_runs_from_Monday_to_Sunday()
    {
        PupilLesson On(LocalDate date, int hour = 0) => new(Guid.NewGuid(), new Interval(At(date, hour), At(date, hour + 1)));
        var pupil = Pupil with { WeeklyMinutes = 90, Lessons = [On(Monday.PlusDays(6), 22)] };

        Refused("weekly_limit", "That would make 120 minutes in the pupil's week, and the limit is 90. Choose another week or a shorter lesson.",
            DiaryWith(), Wish() with { Pupil = pupil }, At(10));
        Assert.NotNull(Check(DiaryWith(), Wish() with { Pupil = pupil with { Lessons = [On(Monday.PlusDays(-1), 22), On(Monday.PlusDays(7))] } }, At(10)).Offer);
    }

    [Theory]
    [InlineData(RegistrationKind.Approved, null, 120)]
    [InlineData(RegistrationKind.Trainee, null, 90)]
    [InlineData(RegistrationKind.Trainee, 75, 75)]
    public void The_lowest_daily_limit_counts(RegistrationKind kind, int? own, int limit)
    {
        var rules = Larkfield.Rules with { DailyTeachingMinutes = 120, TraineeDailyTeachingMinutes = 90 };
        var diary = DiaryWith(Lesson(9, 0, limit - 59)) with { Instructor = Instructor with { Kind = kind, DailyTeachingMinutes = own } };

        var refusal = SlotSearch.Check(Picture(diary, rules), Wish(), InstructorId, At(14), OneRoad).Refusal!;

        Assert.Equal($"That would make {limit + 1} minutes of teaching on that day, and the instructor's limit is {limit}. Choose another day or a shorter lesson.", refusal.Telling.ToStaff);
        Assert.Equal("daily_limit", refusal.Code);
    }

    [Fact]
    public void A_lesson_that_moves_does_not_stand_in_its_own_way()
    {
        var moving = Lesson(10, 0, 60);
        var pupil = Pupil with { WeeklyMinutes = 60, Lessons = [new PupilLesson(moving.Id, moving.During)] };
        var wish = Wish() with { Pupil = pupil };

        Assert.Equal(SlotRule.InstructorBusy, Check(DiaryWith(moving), wish, At(10, 30)).Refusal?.Rule);
        Assert.NotNull(Check(DiaryWith(moving), wish with { MovingLessonId = moving.Id }, At(10, 30)).Offer);
    }

    [Fact]
    public void An_instructor_outside_the_picture_is_a_mistake_of_the_caller() =>
        Assert.Throws<ArgumentException>(() => SlotSearch.Check(Picture(DiaryWith()), Wish(), Guid.NewGuid(), At(10), OneRoad));

    [Fact]
    public void Codes_are_the_names_of_the_rules_in_snake_case() =>
        Assert.All(Enum.GetValues<SlotRule>(), rule => Assert.Equal(
            Regex.Replace($"{rule}", "(?<=.)[A-Z]", "_$0").ToUpperInvariant(), rule.Code().ToUpperInvariant()));

    private static SlotVerdict Check(InstructorDiary diary, LessonWish wish, Instant start) =>
        SlotSearch.Check(Picture(diary), wish, InstructorId, start, OneRoad);

    private static void Refused(string code, string sentence, InstructorDiary diary, LessonWish wish, Instant start)
    {
        var refusal = Check(diary, wish, start).Refusal;
        Assert.Equal((code, sentence), (refusal?.Code, refusal?.Telling.ToStaff));
    }
}
