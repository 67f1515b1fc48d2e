using NodaTime;
using School.Core;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>What happened on an account, in words.</summary>
internal static class AccountWords
{
    public static string Of(Entry entry, Payment? payment, SchoolFacts facts)
    {
        var lesson = entry.LessonStartsAt is { } start ? $" of {Moment(start, facts)}" : "";
        var length = entry.LessonMinutes is { } minutes and > 0 ? $", {ScreenWords.Length(minutes)}" : "";
        var why = entry.Reason.Length > 0 ? $": {entry.Reason}" : "";
        return entry.Kind switch
        {
            EntryKind.Lesson => $"Lesson{lesson}{length}",
            EntryKind.LateCancellation => $"Late cancellation of the lesson{lesson}",
            EntryKind.LateMove => $"Late move of the lesson{lesson}",
            EntryKind.Missed => $"Missed lesson{lesson}",
            EntryKind.BlockSold => "Prepaid hours",
            EntryKind.BlockGivenBack => "Prepaid hours given back",
            EntryKind.Payment => $"Paid, {PaymentWords.Of(payment!.Method)}, receipt {payment.Number}",
            EntryKind.PaidBack => $"Paid back, {PaymentWords.Of(payment!.Method)}, receipt {payment.Number}",
            EntryKind.WrittenOff => $"Given up by the school{why}",
            EntryKind.Opening => "From before the books were opened",
            EntryKind.HandedIn => "Cash handed in",
            EntryKind.Banked => "Taken to the bank",
            EntryKind.Reversal => lesson.Length > 0 ? $"Undone: the lesson{lesson}{why}" : $"Undone{why}",
        };
    }

    public static string Moment(Instant at, SchoolFacts facts)
    {
        var local = at.InZone(facts.Zone);
        return $"{ScreenWords.Day(local.Date)}, {ScreenWords.Time(local.TimeOfDay, facts.TwelveHourClock)}";
    }

    /// <summary>What became of the fee for a lesson, for its reader.</summary>
    public static string Of(DecidedFee fee, SchoolFacts facts, Reader reader)
    {
        var what = fee.Code switch
        {
            Core.Diary.Charges.ChargeCode.LateMove => "Late move",
            Core.Diary.Charges.ChargeCode.Missed => "Missed",
            _ => "Late cancellation",
        };
        var outcome = fee.TakenBack ? "taught after all"
            : fee.WaivedAt is not null ? $"let pass: {fee.WaivedBecause}"
            : fee.EntryId is not null ? "charged"
            : $"not charged: {FeeWords.Why(fee.Reason, reader)}";
        return $"{what}, lesson of {Moment(fee.LessonStartsAt, facts)}: {outcome}";
    }
}
