using NodaTime;
using School.Core.Travel;

namespace School.Core.Diary.Slots;

/// <summary>Finds the lesson times that are really possible.</summary>
/// <remarks>
/// A start is possible when all of this holds; <see cref="SlotRule"/> lists the rules in the order of checking.
/// <list type="bullet">
/// <item>It stands on the school's grid, counted in local time from midnight. A local time that the clock skips does not
/// exist; of one that it repeats both moments count. Lengths are elapsed minutes.</item>
/// <item>It is not past and, for a pupil, not inside the notice and not on a date beyond the horizon.</item>
/// <item>On its local date the pupil is old enough, has a licence that allows it and no failed eyesight check, and the instructor is registered and
/// teaches the gearbox; where the school books instructors in no other area than those they serve, the pick-up lies in one of them or in none; a trainee gives no learner a motorway lesson; a lesson beside a test is on a date on which the pupil has one.</item>
/// <item>All of the lesson lies inside one span of that date's working hours, adjacent spans merged.</item>
/// <item>It overlaps no time off and no entry of the instructor, and no other lesson of the pupil. Periods are half-open:
/// one may end when the next starts.</item>
/// <item>The pupil's lessons of the week (Monday to Sunday, by local start) and the instructor's of the date stay within
/// their limits.</item>
/// <item>Before: the time from the end of the previous placed entry that touches the date, less time off and entries without
/// a place in between, holds the leg (at the speed of leaving then) and the buffer. After: the same from the end of the lesson
/// to the next placed entry. Without a previous entry there is no such need, unless the first leg is work: then the time
/// since the day's working hours begin must hold leg and buffer, and it leaves within it. The last leg likewise until they end. Between spans
/// the instructor may drive.</item>
/// <item>A lesson longer than the work after which a rest is due carries its rests (<see cref="LessonPlan"/>): it ends that much later, with its rests
/// at most 12 hours after its start. Limits count its teaching; people and car are taken until its end.</item>
/// <item>With the lesson in it, the whole day keeps the rest rule: see <see cref="DiaryRules.RestAfterMinutes"/>. Work is
/// lessons and the legs between them, the first leg only when it is work; time off and busy time are rest; a rest is
/// taken on arrival.</item>
/// <item>The instructor holds throughout a car of the pupil's gearbox, in date, on the road, with dual controls if needed
/// (by the pupil, or on a motorway), and not taken. Of several the lesson's own is chosen where the wish names it, then that of the entry before, then of the entry after, then the lowest id.</item>
/// </list>
/// The first drive of a day leaves at the latest whole minute which, at the speed of its own hour, still arrives the buffer before the
/// start; time off is not looked at for it. Extra driving is the two legs less the one they replace, the base standing in at the ends of the day. The unusable gap is what remains on each side within working
/// hours, after leg and buffer, when that is shorter than every lesson on offer.
/// </remarks>
public static class SlotSearch
{
    /// <summary>The best starts for a wish among all instructors of the picture.</summary>
    /// <param name="picture">The diaries as they stand.</param>
    /// <param name="wish">What is wanted, and between which dates.</param>
    /// <param name="travel">Travel times; each leg is asked for once.</param>
    /// <param name="most">The most offers to return, 0 or more.</param>
    public static SlotSearchResult Find(DiaryPicture picture, LessonWish wish, ITravelTimes travel, int most)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(most);
        var ground = new SearchGround(picture.Rules, picture.Zone, travel);
        var dates = Enumerable.Range(0, Math.Max(0, Period.DaysBetween(wish.From, wish.To) + 1)).Select(wish.From.PlusDays).ToList();
        var days = picture.Instructors.SelectMany(diary => ground.Prepare(picture, diary, dates)).ToArray();
        var best = new SlotStart[Math.Min(most, days.Sum(day => day.MostStarts))];
        var workspace = new SlotWorkspace();
        var tally = workspace.Search(ground, picture.Now, wish, days, best);
        return new([.. best.Take(tally.Offered).Select(start => start.Offer(wish, days, picture.Zone))], tally.Found, workspace.RefusalsByRule());
    }

    /// <summary>Whether one start with one instructor is possible; the dates of the wish are not looked at.</summary>
    /// <exception cref="ArgumentException">The instructor is not in the picture.</exception>
    public static SlotVerdict Check(DiaryPicture picture, LessonWish wish, Guid instructorId, Instant start, ITravelTimes travel)
    {
        var diary = picture.Instructors.FirstOrDefault(diary => diary.Instructor.Id == instructorId)
            ?? throw new ArgumentException("The instructor is not in the picture.", nameof(instructorId));
        var judge = new SlotJudge(
            picture,
            wish,
            diary,
            start.InZone(picture.Zone).Date,
            new HeldCars(picture, diary, wish.MovingLessonId),
            new Legs(travel, picture.Zone));
        var judgement = judge.Judge(start);
        return judgement.Broken is { } rule
            ? new(null, new(rule, SlotSentences.For(rule, judgement, picture, wish, diary, judge.Day, start)))
            : new(Offer(wish, instructorId, start, judgement, picture), null);
    }

    private static SlotOffer Offer(LessonWish wish, Guid instructorId, Instant start, Judgement judgement, DiaryPicture picture)
    {
        var plan = LessonPlan.Of(wish.Minutes, picture.Rules);
        return new(
            start,
            start + Duration.FromMinutes(plan.Elapsed),
            instructorId,
            judgement.CarId,
            judgement.ExtraDriving,
            judgement.UnusableGap,
            SlotSentences.Reason(judgement.ExtraDriving, judgement.UnusableGap, judgement.Fills, picture.Zone),
            plan);
    }
}
