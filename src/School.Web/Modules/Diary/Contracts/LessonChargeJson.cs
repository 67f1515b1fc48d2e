using NodaTime;
using School.Core.Diary.Charges;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Contracts;

/// <summary>A charge as the API tells it, with its sentence for who asks.</summary>
internal sealed record LessonChargeJson(ChargeCode Code, bool Chargeable, Instant FreeUntil, string Sentence)
{
    /// <summary>What would be owed, with VAT; null where no money is kept, or nothing is charged.</summary>
    public long? Pence { get; init; }

    /// <summary>What would be taken from prepaid hours.</summary>
    public int? PrepaidMinutes { get; init; }

    public string? Currency { get; init; }

    /// <summary>As it was decided.</summary>
    public static LessonChargeJson Done(LessonCharge charge, Viewer reader) => new(charge.Code, charge.Chargeable, charge.FreeUntil, charge.Done(reader));

    /// <summary>As it would be decided now.</summary>
    public static LessonChargeJson Beforehand(LessonCharge charge, Viewer reader, ChargeAmount? amount = null) =>
        new(charge.Code, charge.Chargeable, charge.FreeUntil, amount is null ? charge.Beforehand(reader) : $"{charge.Beforehand(reader)} {amount.Sentence}")
        {
            Pence = amount?.Pence,
            PrepaidMinutes = amount?.PrepaidMinutes,
            Currency = amount?.Currency,
        };
}
