using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>Takes a pupil off the waiting list; offers that are open to them end.</summary>
internal sealed class LeaveWaitingList(SchoolDb db, IClock clock)
{
    public Task<Outcome<WaitingEntry>> RunAsync(Viewer viewer, Guid id, CancellationToken cancel) => db.InTransactionAsync<WaitingEntry>(
        async cancel =>
        {
            if (await db.Set<WaitingEntry>().SingleOrDefaultAsync(w => w.Id == id, cancel) is not { } entry || !viewer.Sees(entry.PupilId))
            {
                return Refusal.NotFound(WaitingAccess.Entry);
            }

            var now = clock.GetCurrentInstant();
            await db.Set<OfferedSlot>().Where(o => o.WaitingId == id && o.State == OfferState.Open)
                .ExecuteUpdateAsync(set => set.SetProperty(o => o.State, OfferState.Declined).SetProperty(o => o.AnsweredAt, now), cancel);
            return entry.Close(WaitingState.Left, now) is { } refusal ? refusal : entry;
        },
        cancel);
}
