using Hangfire;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Slots;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>
/// Offers freed times to those who wait: a round for each, in a transaction of its own under the lock of its row. Any number of
/// workers may run it; a row that another holds is passed over. What is due is worked out from what is written, so a worker
/// that dies loses nothing and doubles nothing.
/// </summary>
internal sealed class OfferFreedSlots(SchoolDb db, WaitingFit fit, WaitingMail mail, SchoolInfo school, IClock clock)
{
    public const string Job = "offer-freed-slots";

    private static readonly Refusal Passed = Refusal.Conflict("passed", "Another worker has it.");

    [AutomaticRetry(Attempts = 0, OnAttemptsExceeded = AttemptsExceededAction.Delete)]
    public async Task RunAsync(CancellationToken cancel)
    {
        await EndWaitingAsync(cancel);
        var ids = await db.Set<FreedSlot>().Where(f => f.State == FreedState.Offering).OrderBy(f => f.FreedAt).Select(f => f.Id).ToListAsync(cancel);
        foreach (var id in ids)
        {
            await db.InTransactionAsync<FreedSlot>(cancel => RoundAsync(id, cancel), cancel);
        }
    }

    private async Task EndWaitingAsync(CancellationToken cancel)
    {
        var (now, today) = (clock.GetCurrentInstant(), (await school.GetAsync(cancel)).Today(clock));
        await db.AloneAsync(
            () => db.Set<WaitingEntry>().Where(w => w.State == WaitingState.Waiting && w.To < today).ExecuteUpdateAsync(
                set => set.SetProperty(w => w.State, WaitingState.Over).SetProperty(w => w.ClosedAt, now).SetProperty(w => w.Version, w => w.Version + 1), cancel),
            cancel);
    }

    private async Task<Outcome<FreedSlot>> RoundAsync(Guid id, CancellationToken cancel)
    {
        var rows = await db.Set<FreedSlot>().FromSql($"SELECT * FROM diary.freed_slots WHERE id = {id} AND state = 'Offering' FOR UPDATE SKIP LOCKED")
            .ToListAsync(cancel);
        if (rows is not [var freed])
        {
            return Passed;
        }

        var now = clock.GetCurrentInstant();
        var rules = (await db.Set<WaitingSettings>().AsNoTracking().SingleAsync(cancel)).ToRules();
        var made = await db.Set<OfferedSlot>().Where(o => o.FreedId == id).ToListAsync(cancel);
        foreach (var offer in made.Where(o => o.State == OfferState.Open && o.HeldUntil > now))
        {
            if (!await fit.StillFitsAsync(offer, freed, cancel))
            {
                await mail.CloseAsync(offer, OfferState.Gone, now, cancel, taken: false);
            }
        }

        var fitting = now >= WaitingList.LastMoment(freed.StartsAt, rules) || made.Any(o => o.State == OfferState.Open && o.HeldUntil > now)
            ? []
            : await fit.FindAsync(freed, [.. made.Select(o => o.WaitingId)], cancel);
        var lately = await fit.LessonsLatelyAsync(fitting.Select(f => f.Pupil.Id), rules, cancel);
        var round = WaitingList.Next(
            freed.StartsAt,
            [.. made.Select(o => new MadeOffer(o.WaitingId, o.HeldUntil, o.State == OfferState.Open))],
            fitting.Select(f => new WaitingPupil(f.Entry.Id, f.Entry.Since, lately.GetValueOrDefault(f.Pupil.Id))),
            rules,
            now,
            (await school.GetAsync(cancel)).Zone);
        foreach (var offer in made.Where(o => round.Lapsed.Contains(o.WaitingId)))
        {
            await mail.CloseAsync(offer, OfferState.Lapsed, now, cancel);
        }

        foreach (var wish in round.OfferTo.Select(entry => fitting.First(f => f.Entry.Id == entry)))
        {
            await OfferAsync(freed, wish, round.HeldUntil, now, cancel);
        }

        freed.State = round.Over ? FreedState.Over : FreedState.Offering;
        return freed;
    }

    private async Task OfferAsync(FreedSlot freed, Fitting wish, Instant heldUntil, Instant now, CancellationToken cancel)
    {
        var secret = OfferedSlot.NewSecret();
        var offer = new OfferedSlot
        {
            FreedId = freed.Id,
            WaitingId = wish.Entry.Id,
            PupilId = wish.Pupil.Id,
            InstructorId = freed.InstructorId,
            StartsAt = freed.StartsAt,
            Minutes = wish.Minutes,
            Kind = wish.Kind,
            Breaks = wish.Breaks,
            InsteadOfId = wish.InsteadOf?.Id,
            OfferedAt = now,
            HeldUntil = heldUntil,
            SecretHash = OfferedSlot.HashOf(secret),
        };
        db.Add(offer);
        await mail.OfferedAsync(offer, secret, wish, cancel);
    }
}
