using NodaTime;

namespace School.Core.Diary.Slots;

/// <summary>A time that is really possible.</summary>
/// <param name="Start">When the lesson starts.</param>
/// <param name="End">When it ends.</param>
/// <param name="InstructorId">Who teaches.</param>
/// <param name="CarId">In which car.</param>
/// <param name="ExtraDrivingMinutes">Driving that the lesson adds to the instructor's day; never below 0.</param>
/// <param name="UnusableGapMinutes">Working minutes beside the lesson that become too short for any lesson on offer.</param>
/// <param name="Reason">Why this is a good or less good time, in words.</param>
/// <param name="Plan">Its teaching and its rests.</param>
public sealed record SlotOffer(
    Instant Start,
    Instant End,
    Guid InstructorId,
    Guid CarId,
    int ExtraDrivingMinutes,
    int UnusableGapMinutes,
    string Reason,
    LessonPlan Plan)
{
    /// <summary>The rests within the lesson, in order.</summary>
    public IReadOnlyList<LessonBreak> Breaks => Plan.Breaks;
}

/// <summary>What a search found.</summary>
/// <param name="Offers">Ranked by extra driving, then unusable gap, then whether the instructor serves the area of the pick-up, then start; cut to the number asked for.</param>
/// <param name="Found">How many starts were possible before the cut.</param>
/// <param name="Refusals">For each rule, how many starts it was the first to refuse. Looked at are the grid starts within
/// working hours; a date without working hours counts once.</param>
public sealed record SlotSearchResult(
    IReadOnlyList<SlotOffer> Offers,
    int Found,
    IReadOnlyDictionary<SlotRule, int> Refusals)
{
    /// <summary>The rule that refused most starts; null when none was refused.</summary>
    public SlotRule? MostInTheWay => Refusals.Count == 0
        ? null
        : Refusals.OrderByDescending(rule => rule.Value).ThenBy(rule => rule.Key).First().Key;
}

/// <summary>The answer for one start: either an offer or a refusal.</summary>
/// <param name="Offer">The offer when the start is possible.</param>
/// <param name="Refusal">The first rule against it when not.</param>
public sealed record SlotVerdict(SlotOffer? Offer, SlotRefusal? Refusal);
