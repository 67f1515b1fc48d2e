using System.Text.Json.Serialization;
using NodaTime;
using School.Core.Diary.Charges;

namespace School.Core.Accounts;

/// <summary>What a school asks for lessons that are cancelled or moved too late, or missed, from a day on.</summary>
/// <param name="From">It holds for what happens from this day on.</param>
/// <param name="LatePercent">Of the lesson's price, for a late cancellation; 0 to 100.</param>
/// <param name="LateMovePercent">The same for a late move, where the school charges those.</param>
/// <param name="MissedPercent">The same for a pupil who does not come.</param>
/// <param name="FreeAYear">So many are let pass in any 365 days; 0 to 12.</param>
/// <param name="NeedsReminder">Nothing is asked unless the reminder went before the last free moment, or the lesson was booked after it would have.</param>
public sealed record FeePolicy(LocalDate From, int LatePercent, int LateMovePercent, int MissedPercent, int FreeAYear, bool NeedsReminder)
{
    /// <summary>How many free ones a school may give at most.</summary>
    public const int MostFree = 12;

    /// <summary>The one that holds on a day; null where none does, and nothing is asked.</summary>
    /// <param name="policies">All, in any order.</param>
    /// <param name="day">The day.</param>
    public static FeePolicy? On(IEnumerable<FeePolicy> policies, LocalDate day) => policies.Where(policy => policy.From <= day).MaxBy(policy => policy.From);

    /// <summary>The part of the price that it asks for what was decided, in percent; nought for what is free.</summary>
    /// <param name="code">What was decided.</param>
    public int PercentOf(ChargeCode code) => code switch
    {
        ChargeCode.Late => LatePercent,
        ChargeCode.LateMove => LateMovePercent,
        ChargeCode.Missed => MissedPercent,
        ChargeCode.FreeInTime or ChargeCode.FreeSchool or ChargeCode.FreeInstructorIll or ChargeCode.FreeWeather or ChargeCode.FreeCar or ChargeCode.Waived => 0,
    };
}

/// <summary>Why a fee is what it is.</summary>
public enum FeeReason
{
    /// <summary>It is asked for.</summary>
    [JsonStringEnumMemberName("charged")]
    Charged,

    /// <summary>The diary does not charge it at all.</summary>
    [JsonStringEnumMemberName("not_chargeable")]
    NotChargeable,

    /// <summary>The school asks nothing for this.</summary>
    [JsonStringEnumMemberName("nothing_asked")]
    NothingAsked,

    /// <summary>The reminder did not go before the last free moment.</summary>
    [JsonStringEnumMemberName("no_reminder")]
    NoReminder,

    /// <summary>Nobody accepted terms that name it.</summary>
    [JsonStringEnumMemberName("no_terms")]
    NoTerms,

    /// <summary>One of those that are let pass in a year.</summary>
    [JsonStringEnumMemberName("free_one")]
    FreeOne,

    /// <summary>The list has no price for the lesson.</summary>
    [JsonStringEnumMemberName("no_price")]
    NoPrice,
}

/// <summary>The fee for a lesson that did not take place, or was moved too late.</summary>
/// <param name="Percent">Of the lesson; nought where nothing is asked.</param>
/// <param name="Reason">Why.</param>
public sealed record LateFee(int Percent, FeeReason Reason)
{
    /// <summary>The 365 days within which free ones are counted.</summary>
    public const int DaysCounted = 365;

    /// <summary>Decides. The first reason that stands in the way, in the order of <see cref="FeeReason"/>, is the one that is told.</summary>
    /// <param name="charge">What the diary decided.</param>
    /// <param name="policy">The policy of the day; null where there is none.</param>
    /// <param name="warned">The reminder went before the last free moment, or the lesson was booked after it would have gone.</param>
    /// <param name="accepted">Terms that name such fees were accepted.</param>
    /// <param name="freeBefore">How many were let pass as free ones in the 365 days before.</param>
    /// <param name="hasPrice">The list has a price for the lesson.</param>
    public static LateFee Of(LessonCharge charge, FeePolicy? policy, bool warned, bool accepted, int freeBefore, bool hasPrice) =>
        !charge.Chargeable ? new(0, FeeReason.NotChargeable)
        : policy is null || policy.PercentOf(charge.Code) == 0 ? new(0, FeeReason.NothingAsked)
        : policy.NeedsReminder && !warned ? new(0, FeeReason.NoReminder)
        : !accepted ? new(0, FeeReason.NoTerms)
        : freeBefore < policy.FreeAYear ? new(0, FeeReason.FreeOne)
        : !hasPrice ? new(0, FeeReason.NoPrice)
        : new(policy.PercentOf(charge.Code), FeeReason.Charged);
}
