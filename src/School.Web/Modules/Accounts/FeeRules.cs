using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Core.Accounts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>What a late or missed lesson costs, with what the service knows of its pupil.</summary>
internal sealed class FeeRules(SchoolDb db, SchoolInfo school)
{
    public async Task<LateFee> DecideAsync(Book book, DecidedCharge decided, bool hasPrice, CancellationToken cancel)
    {
        var (pupil, at) = (decided.PupilId, decided.Charge.At);
        var since = at - Duration.FromDays(LateFee.DaysCounted);
        var policy = book.FeesOn(at.InZone((await school.GetAsync(cancel)).Zone).Date);
        var accepted = await db.Set<TermsAccepted>().AsNoTracking()
            .AnyAsync(a => a.PupilId == pupil && db.Set<Terms>().Any(t => t.Number == a.Number && t.NamesFees), cancel);
        var free = policy?.FreeAYear is null or 0 ? 0
            : await db.Set<DecidedFee>().AsNoTracking().CountAsync(f => f.PupilId == pupil && f.Reason == FeeReason.FreeOne && !f.TakenBack && f.At > since && f.At <= at, cancel);
        return LateFee.Of(decided.Charge, policy, decided.Warned, accepted, free, hasPrice);
    }
}

/// <summary>A fee in a sentence for its reader.</summary>
internal static class FeeWords
{
    public static string Beforehand(LateFee fee, long owed, int prepaid, Reader reader)
    {
        var whose = reader == Reader.Pupil ? "your" : "the pupil’s";
        var taken = $"{ScreenWords.Length(prepaid)} of {whose} prepaid hours {(prepaid == 60 ? "is" : "are")} taken";
        return fee.Reason switch
        {
            FeeReason.Charged when prepaid > 0 && owed > 0 => $"{taken}, and {ScreenWords.Money(owed)} is owed.",
            FeeReason.Charged when prepaid > 0 => $"{taken}.",
            FeeReason.Charged => $"{ScreenWords.Money(owed)} is owed{(fee.Percent < 100 ? $", {fee.Percent} % of the price" : "")}.",
            _ => $"Nothing is asked: {Why(fee.Reason, reader)}.",
        };
    }

    /// <summary>For who may not see what the pupil has prepaid.</summary>
    public static string WithoutAccount(LateFee fee, long pence, Reader reader) => fee.Reason == FeeReason.Charged
        ? $"{ScreenWords.Money(pence)} is asked{(fee.Percent < 100 ? $", {fee.Percent} % of the price" : "")}, from prepaid hours first." : $"Nothing is asked: {Why(fee.Reason, reader)}.";

    /// <summary>Why nothing is asked.</summary>
    public static string Why(FeeReason reason, Reader reader) => reason switch
    {
        FeeReason.Charged => "it is charged",
        FeeReason.NotChargeable => "it is free of charge",
        FeeReason.NothingAsked => "the school asks nothing for this",
        FeeReason.NoReminder => "no reminder went before the last free moment",
        FeeReason.NoTerms => reader == Reader.Pupil ? "you have not accepted terms that name it" : "the pupil has not accepted terms that name it",
        FeeReason.FreeOne => "it is one of those that the school lets pass in a year",
        FeeReason.NoPrice => "the price list has no price for this lesson",
    };
}
