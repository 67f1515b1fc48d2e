using NodaTime;
using School.Core.Travel;

namespace School.Core.Diary.Slots;

/// <summary>A start that a search found.</summary>
/// <param name="StartTicks">When the lesson starts, in ticks of 100 ns since 1970.</param>
/// <param name="Day">The place of its day among those searched.</param>
/// <param name="CarId">In which car.</param>
/// <param name="ExtraDrivingMinutes">Driving that the lesson adds to the day; never below 0.</param>
/// <param name="UnusableGapMinutes">Working minutes beside it that become too short for any lesson on offer.</param>
/// <param name="FillsUntilTicks">When it leaves less than one step of the grid between its neighbours: when the next one begins; else 0.</param>
public readonly record struct SlotStart(
    long StartTicks, int Day, Guid CarId, int ExtraDrivingMinutes, int UnusableGapMinutes, long FillsUntilTicks)
{
    /// <summary>When the lesson starts.</summary>
    public Instant Start => Instant.FromUnixTimeTicks(StartTicks);

    /// <summary>When the next entry begins, if the lesson fills the gap before it.</summary>
    public Instant? FillsUntil => FillsUntilTicks == 0 ? null : Instant.FromUnixTimeTicks(FillsUntilTicks);

    /// <summary>The same as an offer, with its reason in words.</summary>
    /// <param name="wish">The wish searched for.</param>
    /// <param name="days">The days searched.</param>
    /// <param name="zone">The school's time zone.</param>
    /// <param name="withReason">Whether the reason is wanted; it is empty where not.</param>
    public SlotOffer Offer(LessonWish wish, IReadOnlyList<PreparedDay> days, DateTimeZone zone, bool withReason = true)
    {
        var plan = LessonPlan.Of(wish.Minutes, days[Day].Rules);
        return new(
            Start,
            Start + Duration.FromMinutes(plan.Elapsed),
            days[Day].Instructor.Id,
            CarId,
            ExtraDrivingMinutes,
            UnusableGapMinutes,
            withReason ? SlotSentences.Reason(ExtraDrivingMinutes, UnusableGapMinutes, FillsUntil, zone) : "",
            plan);
    }
}

/// <summary>What a search came to.</summary>
/// <param name="Offered">How many starts were written, best first.</param>
/// <param name="Found">How many starts were possible.</param>
/// <param name="Earliest">The first of them.</param>
public readonly record struct SlotTally(int Offered, int Found, Instant? Earliest);

/// <summary>Room for one search at a time. Use it again and again: once it has grown to the size of the school, a search allocates nothing
/// (but moving a lesson lays out the lesson's own day anew).</summary>
public sealed class SlotWorkspace
{
    private const int Hours = 7 * NodaConstants.HoursPerDay;
    private readonly int[] refusals = new int[Enum.GetValues<SlotRule>().Length];
    private readonly List<Ticks> pupilLessons = [];
    private long[] toPickUp = [];
    private long[] fromDropOff = [];
    private SearchGround? groundOfLegs;
    private uint search;

    /// <summary>For each rule, by its number, how many starts it was the first to refuse in the last search.</summary>
    /// <remarks>Counted as <see cref="SlotSearchResult.Refusals"/> says.</remarks>
    public ReadOnlySpan<int> Refusals => refusals;

    /// <summary>The best starts on some days; the dates of the wish are not looked at.</summary>
    /// <param name="ground">What the days were prepared for.</param>
    /// <param name="now">The present moment.</param>
    /// <param name="wish">What is wanted.</param>
    /// <param name="days">The days, each instructor's date at most once.</param>
    /// <param name="best">Takes the best starts, as many as there is room for.</param>
    public SlotTally Search(SearchGround ground, Instant now, LessonWish wish, ReadOnlySpan<PreparedDay> days, Span<SlotStart> best)
    {
        Array.Clear(refusals);
        ForgetLegs(ground);
        TakeLessons(wish);
        var kernel = new SlotKernel(this, ground, now, wish, new BestStarts(best, days, wish.PickUpAreaId));
        for (var i = 0; i < days.Length; i++)
        {
            kernel.Look(wish.MovingLessonId is { } moving ? days[i].Without(moving) : days[i], i);
        }

        return kernel.Finish();
    }

    /// <summary>The refusals that occurred, by rule.</summary>
    public IReadOnlyDictionary<SlotRule, int> RefusalsByRule() => Enum.GetValues<SlotRule>()
        .Where(rule => refusals[(int)rule] > 0).ToDictionary(rule => rule, rule => refusals[(int)rule]);

    internal List<Ticks> PupilLessons => pupilLessons;

    internal void Refuse(SlotRule rule, int starts) => refusals[(int)rule] += starts;

    /// <summary>Minutes from a place to the pick-up.</summary>
    internal int ToPickUp(PlaceOnMap place, LocalDateTime leaving, LessonWish wish)
    {
        ref var known = ref toPickUp[At(place, leaving)];
        if (known >>> 32 != search)
        {
            known = Known(groundOfLegs!.Travel.Between(place.At, wish.PickUp, leaving));
        }

        return (int)known;
    }

    /// <summary>Minutes from the drop-off to a place.</summary>
    internal int FromDropOff(PlaceOnMap place, LocalDateTime leaving, LessonWish wish)
    {
        ref var known = ref fromDropOff[At(place, leaving)];
        if (known >>> 32 != search)
        {
            known = Known(groundOfLegs!.Travel.Between(wish.DropOff, place.At, leaving));
        }

        return (int)known;
    }

    private static int At(PlaceOnMap place, LocalDateTime leaving) =>
        (place.Number * Hours) + (((int)leaving.DayOfWeek - 1) * NodaConstants.HoursPerDay) + leaving.Hour;

    // The number of the search stands beside the minutes, so that nothing has to be wiped between two searches.
    private long Known(Leg leg) => ((long)search << 32) | (uint)leg.Minutes;

    private void ForgetLegs(SearchGround ground)
    {
        groundOfLegs = ground;
        var size = ground.Places * Hours;
        if (toPickUp.Length < size)
        {
            size += size / 4;
            (toPickUp, fromDropOff) = (new long[size], new long[size]);
        }
        if (++search > int.MaxValue)
        {
            Array.Clear(toPickUp);
            Array.Clear(fromDropOff);
            search = 1;
        }
    }

    private void TakeLessons(LessonWish wish)
    {
        pupilLessons.Clear();
        for (var i = 0; i < wish.Pupil.Lessons.Count; i++)
        {
            if (wish.Pupil.Lessons[i].Id == wish.MovingLessonId)
            {
                continue;
            }

            var lesson = Ticks.Of(Stretch.Of(wish.Pupil.Lessons[i].During));
            var at = pupilLessons.Count;
            while (at > 0 && pupilLessons[at - 1].Start > lesson.Start)
            {
                at--;
            }

            pupilLessons.Insert(at, lesson);
        }
    }
}
