using NodaTime;
using School.Core.Diary.Time;

namespace School.Core.Diary.Slots;

/// <summary>Who comes first when a freed time fits several pupils.</summary>
public enum FairOrder
{
    /// <summary>Who has waited longest; among equals, who had fewest lessons lately.</summary>
    LongestWaiting,

    /// <summary>Who had fewest lessons lately; among equals, who has waited longest.</summary>
    FewestLessons,
}

/// <summary>How freed times are offered: the school's own choice, no source.</summary>
public sealed record WaitingRules
{
    /// <summary>Minutes that an offer holds.</summary>
    [Between(5, 1440)]
    public int HeldMinutes { get; init; } = 60;

    /// <summary>Pupils who are offered the same time at once. The first to accept has it.</summary>
    [Between(1, 20)]
    public int AtOnce { get; init; } = 3;

    /// <summary>Nothing is offered or accepted later than this many minutes before the start.</summary>
    [Between(0, 2880)]
    public int LeadMinutes { get; init; } = 120;

    /// <summary>How far back lessons count as "lately", in days.</summary>
    [Between(1, 90)]
    public int LatelyDays { get; init; } = 14;

    /// <summary>Who comes first.</summary>
    public FairOrder Order { get; init; }

    /// <summary>What is wrong, by name of the property; empty when all is well.</summary>
    public IReadOnlyDictionary<string, string> Validate()
    {
        var errors = new Dictionary<string, string>();
        Within(nameof(HeldMinutes), HeldMinutes, (least, most) => $"An offer holds from {least} to {most} minutes.");
        Within(nameof(AtOnce), AtOnce, (least, most) => $"Offer to {least} to {most} pupils at once.");
        Within(nameof(LeadMinutes), LeadMinutes, (least, most) => $"Give from {least} to {most} minutes.");
        Within(nameof(LatelyDays), LatelyDays, (least, most) => $"Count from {least} to {most} days back.");
        return errors;

        void Within(string field, int value, Func<double, double, string> sentence)
        {
            var bounds = BetweenAttribute.Of(typeof(WaitingRules), field);
            if (!bounds.Holds(value))
            {
                errors[field] = sentence(bounds.Least, bounds.Most);
            }
        }
    }
}

/// <summary>Somebody who waits and whom the time fits.</summary>
/// <param name="Id">Of the entry on the waiting list.</param>
/// <param name="Since">When they joined it.</param>
/// <param name="LessonsLately">Lessons within <see cref="WaitingRules.LatelyDays"/>, 0 or more.</param>
public readonly record struct WaitingPupil(Guid Id, Instant Since, int LessonsLately);

/// <summary>An offer already made of the time.</summary>
/// <param name="WaitingId">To whom.</param>
/// <param name="HeldUntil">Until when it can be accepted, not included.</param>
/// <param name="Open">Whether it is still without an answer.</param>
public readonly record struct MadeOffer(Guid WaitingId, Instant HeldUntil, bool Open);

/// <summary>What is due for one freed time.</summary>
/// <param name="Lapsed">Open offers whose time is up.</param>
/// <param name="OfferTo">Who is offered it now, in fair order.</param>
/// <param name="HeldUntil">Until when the new offers hold.</param>
/// <param name="Over">The start is too near: nothing more is offered.</param>
public sealed record OfferRound(IReadOnlyList<Guid> Lapsed, IReadOnlyList<Guid> OfferTo, Instant HeldUntil, bool Over);

/// <summary>Offers a freed time to those who wait, some at a time, each offer held for a while.</summary>
public static class WaitingList
{
    /// <summary>Those who wait in fair order; equal in all, the lower id first, so that every node decides alike.</summary>
    public static IReadOnlyList<WaitingPupil> InOrder(IEnumerable<WaitingPupil> waiting, FairOrder order) => order switch
    {
        FairOrder.LongestWaiting => [.. waiting.OrderBy(w => w.Since).ThenBy(w => w.LessonsLately).ThenBy(w => w.Id)],
        FairOrder.FewestLessons => [.. waiting.OrderBy(w => w.LessonsLately).ThenBy(w => w.Since).ThenBy(w => w.Id)],
    };

    /// <summary>The last moment at which a time that starts then is offered or accepted.</summary>
    public static Instant LastMoment(Instant start, WaitingRules rules) => start - Duration.FromMinutes(rules.LeadMinutes);

    /// <summary>What is due now. Nobody is offered the same time twice; new offers go out only when none is open.</summary>
    /// <param name="start">Start of the freed time.</param>
    /// <param name="made">All offers of it so far.</param>
    /// <param name="fitting">Those who wait and whom it fits, in any order.</param>
    /// <param name="rules">The school's rules.</param>
    /// <param name="now">The moment.</param>
    /// <param name="zone">The school's zone: at night nothing is offered, and the time for which an offer holds stands still.</param>
    public static OfferRound Next(
        Instant start, IReadOnlyCollection<MadeOffer> made, IEnumerable<WaitingPupil> fitting, WaitingRules rules, Instant now, DateTimeZone zone)
    {
        var last = LastMoment(start, rules);
        var over = now >= last;
        var lapsed = made.Where(offer => offer.Open && (over || offer.HeldUntil <= now)).Select(offer => offer.WaitingId).ToList();
        var stillOpen = made.Any(offer => offer.Open && !lapsed.Contains(offer.WaitingId));
        var asked = made.Select(offer => offer.WaitingId).ToHashSet();
        return new(
            lapsed,
            over || stillOpen || !WakingHours.Offers.Hold(now, zone) ? [] : [.. InOrder(fitting.Where(w => !asked.Contains(w.Id)), rules.Order).Take(rules.AtOnce).Select(w => w.Id)],
            Instant.Min(WakingHours.Offers.After(now, Duration.FromMinutes(rules.HeldMinutes), zone), last),
            over);
    }
}
