using NodaTime;
using School.Core;
using School.Core.Accounts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>What a lesson costs that is booked today: the price of the list by today, which is what is charged once it is taught.</summary>
internal sealed class LessonPrices(BookShelf shelf, Ledger ledger, LessonBook lessons, OwnPupils own, SchoolInfo school, IClock clock) : ILessonPrices
{
    public async Task<ToldPrice?> TellAsync(LessonToTell lesson, Viewer viewer, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var day = lesson.StartsAt.InZone(facts.Zone).LocalDateTime;
        if (await shelf.FindAsync(cancel) is not { } book || day.Date < book.OpenedOn)
        {
            return null;
        }

        var reader = viewer.Towards(lesson.PupilId).Reader;
        if (book.PriceOf(new(facts.Today(clock), day, lesson.Minutes, lesson.Kind, lesson.Gearbox, lesson.InstructorId)) is not { } price)
        {
            return new(null, null, null, book.Currency, PriceToldWords.None(reader));
        }

        if (!viewer.May(Permission.ReadAccount) || await own.RefuseUnseenAsync(viewer, lesson.PupilId, cancel) is not null)
        {
            return new(price.Pence, null, null, book.Currency, $"{ScreenWords.Money(price.Pence)}.");
        }

        var left = (await ledger.BlocksAsync(lesson.PupilId, cancel)).Sum(block => block.Left.MinutesLeft);
        var spoken = left == 0 ? 0 : await lessons.MinutesBookedAsync(lesson.PupilId, null, cancel);
        var prepaid = Math.Clamp(left - spoken, 0, lesson.Minutes);
        var owed = Pence.Share(price.Pence, lesson.Minutes - prepaid, lesson.Minutes);
        return new(price.Pence, owed, prepaid, book.Currency, PriceToldWords.Of(price.Pence, owed, prepaid, left, reader));
    }
}

/// <summary>A price in a sentence for its reader.</summary>
internal static class PriceToldWords
{
    public static string None(Reader reader) => reader == Reader.Pupil
        ? "The school has named no price for such a lesson yet. Ask before you book."
        : "The price list has no price for this lesson.";

    public static string Of(long price, long owed, int prepaid, int left, Reader reader)
    {
        var whose = reader == Reader.Pupil ? "your" : "the pupil’s";
        var taken = $"{ScreenWords.Length(prepaid)} of {whose} prepaid hours {(prepaid == 60 ? "is" : "are")} taken";
        return prepaid switch
        {
            0 when left > 0 => $"{ScreenWords.Money(price)}, to be paid: {whose} prepaid hours are for lessons that are booked already.",
            0 => $"{ScreenWords.Money(price)}, to be paid.",
            _ when owed == 0 => $"{ScreenWords.Money(price)}, paid for: {taken}.",
            _ => $"{ScreenWords.Money(price)}: {taken}, and {ScreenWords.Money(owed)} is to be paid.",
        };
    }
}
