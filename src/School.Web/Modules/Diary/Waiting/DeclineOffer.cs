using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>Declines an offer; the place on the waiting list stays.</summary>
internal sealed class DeclineOffer(SchoolDb db, IClock clock)
{
    public Task<Outcome<OfferedSlot>> RunAsync(Guid id, CancellationToken cancel) => db.InTransactionAsync<OfferedSlot>(
        async cancel =>
        {
            var rows = await db.Set<OfferedSlot>().FromSql($"SELECT * FROM diary.offers WHERE id = {id} FOR UPDATE").ToListAsync(cancel);
            if (rows is not [var offer])
            {
                return Refusal.NotFound("offer");
            }

            if (offer.State != OfferState.Open)
            {
                return Refusal.Conflict("offer_closed", "This offer has been answered or has ended already.");
            }

            (offer.State, offer.AnsweredAt) = (OfferState.Declined, clock.GetCurrentInstant());
            return offer;
        },
        cancel);
}
