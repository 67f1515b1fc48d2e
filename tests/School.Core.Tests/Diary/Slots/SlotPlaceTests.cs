using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Core.Diary.Slots;
using Xunit;
using static School.Core.Tests.Diary.Larkfield;

namespace School.Core.Tests.Diary.Slots;

/// <summary>Drives, rests and cars: one example for each rule, and for what a person is told.</summary>
public sealed class SlotPlaceTests
{
    [Fact]
    public void The_drive_and_the_buffer_fit_before_and_after()
    {
        var diary = DiaryWith(Lesson(9, 0, 60, begins: 10), Lesson(12, 0, 60, begins: 10));

        Refused("no_time_to_get_there", "The instructor needs 15 minutes to get from one place to the other and has 0. Choose a time with more room.",
            diary, Wish(), At(10));
        Assert.NotNull(Check(diary, Wish(), At(10, 15)).Offer);
        Assert.NotNull(Check(diary, Wish(), At(10, 45)).Offer);
        Refused("no_time_to_get_there", "The instructor needs 15 minutes to get from one place to the other and has 0. Choose a time with more room.",
            diary, Wish(), At(11));
    }

    [Fact]
    public void Nobody_drives_during_time_off_or_busy_time()
    {
        var diary = DiaryWith(Lesson(9, 0, 60, begins: 10), Busy(10, 10, 20)) with { TimeOff = [During(10, 5, 10)] };

        // Blocked from 10:05 to 10:30; 15 minutes of driving and buffer end at 10:40.
        Refused("no_time_to_get_there", "The instructor needs 15 minutes to get from one place to the other and has 5. Choose a time with more room.",
            diary, Wish(), At(10, 30));
        Assert.NotNull(Check(diary, Wish(), At(10, 45)).Offer);
    }

    [Fact]
    public void The_drives_from_and_to_base_are_inside_working_hours_only_when_they_are_work()
    {
        var work = Larkfield.Rules with { FirstLegIsWork = true, LastLegIsWork = true };
        bool Possible(DiaryRules rules, int hour, int minute) =>
            SlotSearch.Check(Picture(DiaryWith(), rules), Wish(pickUp: 20, dropOff: 10), InstructorId, At(hour, minute), OneRoad).Offer is not null;

        Assert.True(Possible(Larkfield.Rules, 9, 0));
        Assert.True(Possible(Larkfield.Rules, 16, 0));
        Assert.False(Possible(work, 9, 15));
        Assert.True(Possible(work, 9, 30));
        Assert.True(Possible(work, 15, 45));
        Assert.False(Possible(work, 16, 0));
    }

    // The Highway Code, rule 91: a break of at least 15 minutes after every two hours (here of work).
    [Fact]
    public void Two_hours_of_work_are_followed_by_a_rest()
    {
        var diary = DiaryWith(Lesson(9, 0, 120));

        Refused("rest_needed", "The instructor needs a rest of 15 minutes after 120 minutes of work. Choose a time that leaves one.",
            diary, Wish() with { AnyStart = true }, At(11, 10));
        Assert.NotNull(Check(diary, Wish(), At(11, 15)).Offer);
        Assert.NotNull(Check(DiaryWith(Lesson(9, 0, 90)), Wish() with { AnyStart = true }, At(10, 35)).Offer);
    }

    [Fact]
    public void Driving_is_no_rest_and_is_work()
    {
        var diary = DiaryWith(Lesson(9, 0, 60), Lesson(11, 30, 60, begins: 10));

        // 60 of lesson, 9 of driving and 60 of lesson make 129 at 11:15; of the 15 to the next lesson 1 is driven.
        Refused("rest_needed", "The instructor needs a rest of 15 minutes after 120 minutes of work. Choose a time that leaves one.",
            diary, Wish(pickUp: 9, dropOff: 9) with { AnyStart = true }, At(10, 15));
        // From 11:14, and dropped where the next one begins, all of the 16 minutes are rest.
        Assert.NotNull(Check(diary, Wish(pickUp: 9, dropOff: 10) with { AnyStart = true }, At(10, 14)).Offer);
    }

    [Fact]
    public void Busy_time_counts_as_rest() =>
        Assert.NotNull(Check(DiaryWith(Lesson(9, 0, 120), Busy(11, 0, 10)), Wish(), At(11, 15)).Offer);

    [Fact]
    public void A_suitable_car_is_needed()
    {
        Refused("no_suitable_car", "The instructor has no manual car with dual controls that may be used at that time. Choose another time or another instructor.",
            DiaryWith() with { Holds = [] }, Wish(), At(10));
        NoCar(Car with { DualControls = false });
        NoCar(Car with { Gearbox = Gearbox.Automatic });
        NoCar(Car with { MotExpires = Monday.PlusDays(-1) });
        NoCar(Car with { OffRoad = [During(10, 59, 60)] });

        void NoCar(CarFacts car) => Assert.Equal(
            SlotRule.NoSuitableCar,
            SlotSearch.Check(Picture(DiaryWith()) with { Cars = [car] }, Wish(), InstructorId, At(10), OneRoad).Refusal?.Rule);
    }

    [Fact]
    public void A_car_is_with_one_lesson_at_a_time()
    {
        var picture = Picture(DiaryWith()) with { CarBusy = [new CarBusy(CarId, Guid.NewGuid(), During(10, 30, 60))] };

        var refusal = SlotSearch.Check(picture, Wish(), InstructorId, At(10), OneRoad).Refusal!;

        Assert.Equal(("car_busy", "Every manual car with dual controls of this instructor is taken at that time. Choose another time or another instructor."), (refusal.Code, refusal.Telling.ToStaff));
    }

    [Fact]
    public void The_car_of_the_neighbouring_lesson_is_chosen_first()
    {
        var other = Car with { Id = new Guid("00000000-0000-0000-0000-0000000000c2") };
        var neighbour = Lesson(9, 0, 60) with { CarId = other.Id };
        var diary = DiaryWith(neighbour);
        diary = diary with { Holds = [.. diary.Holds, diary.Holds[0] with { CarId = other.Id }] };

        Guid Chosen(InstructorDiary diary) => SlotSearch.Check(
            Picture(diary) with { Cars = [other, Car] }, Wish(), InstructorId, At(11), OneRoad).Offer!.CarId;

        Assert.Equal(other.Id, Chosen(diary));
        Assert.Equal(CarId, Chosen(diary with { Entries = [] }));
    }

    private static SlotVerdict Check(InstructorDiary diary, LessonWish wish, Instant start) =>
        SlotSearch.Check(Picture(diary), wish, InstructorId, start, OneRoad);

    private static void Refused(string code, string sentence, InstructorDiary diary, LessonWish wish, Instant start)
    {
        var refusal = Check(diary, wish, start).Refusal;
        Assert.Equal((code, sentence), (refusal?.Code, refusal?.Telling.ToStaff));
    }
}
