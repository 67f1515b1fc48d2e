using System.Text.Json.Serialization;
using NodaTime;

namespace School.Core.Accounts;

/// <summary>How what was used of a block is counted when the rest is given back, by the terms under which it was sold.</summary>
public enum RefundRule
{
    /// <summary>At the block's own price.</summary>
    [JsonStringEnumMemberName("pro_rata")]
    ProRata,

    /// <summary>At the price of single lessons as it was when the block was sold, so that a discount for many hours is not kept for few.</summary>
    [JsonStringEnumMemberName("revalued")]
    Revalued,
}

/// <summary>By which rule a refund is worked out.</summary>
public enum RefundGround
{
    /// <summary>Cancelled within 14 days, and nobody asked to begin within them: all of it.</summary>
    [JsonStringEnumMemberName("within_14_days_all")]
    Within14DaysAll,

    /// <summary>Cancelled within 14 days, begun at the buyer's express request: less what was given, in proportion.</summary>
    [JsonStringEnumMemberName("within_14_days_proportion")]
    Within14DaysProportion,

    /// <summary>Later, at the block's own price.</summary>
    [JsonStringEnumMemberName("pro_rata")]
    ProRata,

    /// <summary>Later, what was used counted as single lessons.</summary>
    [JsonStringEnumMemberName("revalued")]
    Revalued,
}

/// <summary>What is given back for the rest of a block.</summary>
/// <remarks>
/// Within 14 days after the day of a contract made at a distance or off the premises a consumer may cancel it (SI 2013/3134, regs 30 and 31); what was
/// given before is paid for in proportion, and only where they expressly asked for it to begin within them (reg 36). The service grants this for
/// every block, wherever it was sold.
/// </remarks>
/// <param name="Pence">What is given back, with VAT.</param>
/// <param name="Ground">By which rule.</param>
public sealed record BlockRefund(long Pence, RefundGround Ground)
{
    /// <summary>Days after the day of the contract within which it may be cancelled.</summary>
    public const int DaysToCancel = 14;

    /// <summary>Works out a refund.</summary>
    /// <param name="soldOn">The day on which it was sold.</param>
    /// <param name="grossPence">The price with VAT.</param>
    /// <param name="minutes">Minutes sold.</param>
    /// <param name="minutesUsed">Minutes taught from it.</param>
    /// <param name="singlePencePerHour">The price of an hour by itself on the day of the sale; null where there was none.</param>
    /// <param name="rule">By the terms of the sale.</param>
    /// <param name="askedToBegin">The buyer expressly asked to begin within the 14 days, and that is on record.</param>
    /// <param name="today">The day on which it is given back.</param>
    public static BlockRefund Of(
        LocalDate soldOn, long grossPence, int minutes, int minutesUsed, long? singlePencePerHour, RefundRule rule, bool askedToBegin, LocalDate today)
    {
        var proportion = grossPence - Accounts.Pence.Share(grossPence, minutesUsed, minutes);
        if (today <= soldOn.PlusDays(DaysToCancel))
        {
            return askedToBegin ? new(proportion, RefundGround.Within14DaysProportion) : new(grossPence, RefundGround.Within14DaysAll);
        }

        return rule == RefundRule.Revalued && singlePencePerHour is { } single
            ? new(Math.Max(0, grossPence - Accounts.Pence.Share(single, minutesUsed, 60)), RefundGround.Revalued)
            : new(proportion, RefundGround.ProRata);
    }
}
