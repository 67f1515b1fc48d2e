using CsCheck;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Pupils;
using School.Core.Travel;
using Xunit;

namespace School.Core.Tests.Diary.Slots;

public sealed class SlotPropertyTests
{
    private static readonly StraightLineTravel Travel = new(new());
    private static readonly Gen<(DiaryPicture Picture, LessonWish Wish)> Any = Gen.Int[1_000_000, int.MaxValue].Select(RandomDiary.Make);

    [Fact]
    public void Every_offer_passes_the_check_of_its_own_start()
    {
        var offered = 0;
        Any.Sample(diary =>
        {
            foreach (var offer in SlotSearch.Find(diary.Picture, diary.Wish, Travel, 50).Offers)
            {
                Interlocked.Increment(ref offered);
                Assert.Equal(offer, SlotSearch.Check(diary.Picture, diary.Wish, offer.InstructorId, offer.Start, Travel).Offer);
            }
        }, iter: 500);
        Assert.True(offered > 100);
    }

    [Fact]
    public void A_lesson_booked_as_offered_makes_no_lesson_impossible()
    {
        var booked = 0;
        Any.Sample(diary =>
        {
            var (picture, wish) = diary;
            foreach (var offer in SlotSearch.Find(picture, wish, Travel, 5).Offers)
            {
                var before = picture.Instructors.First(other => other.Instructor.Id == offer.InstructorId);
                var (after, taken, pupil) = Book(picture, before, wish, offer);

                var told = DiaryAudit.Find(picture with { CarBusy = taken }, after, Travel, Known(pupil)).Select(told => told.LessonId);

                // Random diaries hold impossible lessons from the start, and a lesson moved away can leave another the last of its day,
                // too late to be home by the end of work; the booked one must add none to those, itself included.
                var (left, busy, free) = Leave(picture, before, wish);
                var known = DiaryAudit.Find(picture with { CarBusy = busy }, left, Travel, Known(free)).Select(told => told.LessonId);
                Assert.Subset(known.ToHashSet(), told.ToHashSet());
                Interlocked.Increment(ref booked);
            }
        }, iter: 500);
        Assert.True(booked > 100);
    }

    [Fact]
    public void Every_refused_start_says_what_to_do_without_ids()
    {
        Gen.Select(Any, Gen.Int[0, 1439]).Sample((diary, minute) =>
        {
            var (picture, wish) = diary;
            var start = picture.Zone.AtStartOfDay(wish.From).ToInstant() + Duration.FromMinutes(minute);
            var verdict = SlotSearch.Check(picture, wish, picture.Instructors[0].Instructor.Id, start, Travel);
            Assert.True(verdict.Offer is null != verdict.Refusal is null);
            if (verdict.Refusal is { } refusal)
            {
                Assert.EndsWith(".", refusal.Telling.ToStaff);
                Assert.DoesNotMatch("[0-9a-f]{8}-|  ", refusal.Telling.ToStaff);
                Assert.Matches("Choose|ask|Ask", refusal.Telling.ToStaff);
                Assert.Matches("Choose|ask|Ask|call", refusal.Telling.ToPupil);
                Assert.DoesNotMatch("[Tt]he pupil|[Tt]hat pupil", refusal.Telling.ToPupil);
                Assert.DoesNotMatch(@"\b[Yy]our\b", refusal.Telling.ToStaff);
            }
        }, iter: 500);
    }

    private static (InstructorDiary Diary, List<CarBusy> CarBusy, PupilFacts Pupil) Book(
        DiaryPicture picture, InstructorDiary diary, LessonWish wish, SlotOffer offer)
    {
        var (id, during) = (Guid.NewGuid(), new Interval(offer.Start, offer.End));
        var lesson = new DiaryEntry(id, EntryKind.Lesson, during, wish.Pupil.Id, offer.CarId, wish.PickUp, wish.DropOff) { Breaks = offer.Breaks, LessonKind = wish.Kind };
        var (left, busy, pupil) = Leave(picture, diary, wish);
        return (
            left with { Entries = [.. left.Entries, lesson] },
            [.. busy, new(offer.CarId, id, during)],
            pupil with { Lessons = [.. pupil.Lessons, new(id, during) { BreakMinutes = offer.Breaks.Sum(rest => rest.Minutes) }] });
    }

    /// <summary>The diary once the lesson to be moved has left it.</summary>
    private static (InstructorDiary Diary, List<CarBusy> CarBusy, PupilFacts Pupil) Leave(DiaryPicture picture, InstructorDiary diary, LessonWish wish) => (
        diary with { Entries = [.. diary.Entries.Where(entry => entry.Id != wish.MovingLessonId)] },
        [.. picture.CarBusy.Where(busy => busy.LessonId != wish.MovingLessonId)],
        wish.Pupil with { Lessons = [.. wish.Pupil.Lessons.Where(other => other.Id != wish.MovingLessonId)] });

    private static Dictionary<Guid, PupilFacts> Known(PupilFacts pupil) => new() { [pupil.Id] = pupil };
}
