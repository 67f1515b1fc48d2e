using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Accounts;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Accounts;

internal sealed class PupilMoney(
    SchoolDb db, BookShelf shelf, Ledger ledger, PupilBook pupils, OwnPupils sight, LessonRecording lessons, LessonBook booked, LessonPricing pricing, SchoolInfo school, IClock clock) : IPupilMoney
{
    public async Task<PupilMoneyCard?> FindAsync(Guid pupilId, Viewer viewer, CancellationToken cancel)
    {
        if (!viewer.May(Permission.TakeMoney) || !await shelf.AreOpenAsync(cancel))
        {
            return null;
        }

        var blocks = await ledger.BlocksAsync(pupilId, cancel);
        return new($"/accounts/{pupilId}", await ledger.OwedAsync(pupilId, cancel), blocks.Sum(block => block.Left.MinutesLeft));
    }

    public async Task<KerbMoney?> AtKerbAsync(Guid pupilId, Guid lessonId, Viewer viewer, CancellationToken cancel)
    {
        if (!viewer.May(Permission.TakeMoney) || await shelf.FindAsync(cancel) is not { } book || await lessons.OfSchoolAsync(lessonId, cancel) is not { } lesson
            || lesson.PupilId != pupilId || lesson.State == LessonState.Cancelled || !(await pupils.CardsAsync([pupilId], cancel)).TryGetValue(pupilId, out var card) || await sight.RefuseUnseenAsync(viewer, pupilId, cancel) is not null)
        {
            return null;
        }

        var owed = await ledger.OwedAsync(pupilId, cancel);
        var left = (await ledger.BlocksAsync(pupilId, cancel)).Sum(block => block.Left.MinutesLeft);
        var facts = await school.GetAsync(cancel);
        var on = lesson.StartsAt.InZone(facts.Zone).Date;
        var posted = await db.Set<Entry>().AsNoTracking().Include(e => e.Lines).Where(e => e.LessonId == lessonId).ToListAsync(cancel);
        var own = posted.SelectMany(entry => entry.Lines).Where(line => line.Account == LedgerAccount.Receivable).Sum(line => line.Pence);
        // A page is kept for tomorrow at most; what is further off is not due.
        if (on > facts.Today(clock).PlusDays(1))
        {
            return null;
        }

        // Not written down yet, as where the page is kept for later: as if it were.
        if (lesson.State == LessonState.Booked && on >= book.OpenedOn && posted.Count == 0)
        {
            left = Math.Max(0, left - await booked.MinutesBookedAsync(pupilId, lesson.StartsAt, cancel));
            var prepaid = Math.Min(left, lesson.Minutes);
            var price = await pricing.OfAsync(book, lesson, cancel);
            own = price is null ? 0 : Pence.Share(price.Pence, lesson.Minutes - prepaid, lesson.Minutes);
            (owed, left) = (owed + own, left - prepaid);
        }

        return new($"/accounts/{pupilId}/kerb?lesson={lessonId}", card.Name, owed, Math.Max(0, owed - Math.Max(0, own)), left, LocalDate.Min(on, facts.Today(clock)), RowId.New());
    }
}
