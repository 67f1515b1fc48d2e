using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>Letters about offers, written in the transaction of what they tell.</summary>
internal sealed class WaitingMail(Outbox outbox, InstructorBook instructors, PictureLoader pictures)
{
    public async Task OfferedAsync(OfferedSlot offer, string secret, Fitting wish, CancellationToken cancel)
    {
        var teacher = (await instructors.FindAsync(offer.InstructorId, cancel))!;
        List<Fact> facts =
            [Fact.Of(WaitingWording.Time, offer.During), Fact.Of(WaitingWording.Instructor, teacher.Name), Fact.Of(WaitingWording.HeldUntil, offer.HeldUntil)];
        if ((await pictures.RulesAsync(cancel)).NameOf(offer.Kind) is { } kind)
        {
            facts.Add(Fact.Of(WaitingWording.Kind, kind));
        }

        facts.AddRange(offer.Rests().Select(rest => Fact.Of(WaitingWording.Break, rest)));
        if (wish.InsteadOf is { } instead)
        {
            facts.Add(Fact.Of(WaitingWording.InsteadOf, instead.During));
        }

        await outbox.WriteAsync(
            new(WaitingWording.Offered, $"{WaitingWording.Offered}:{offer.Id}", offer.Id, Receiver.Pupil(wish.Pupil.Id), facts)
            {
                Acts = [new(WaitingWording.Answer, $"/diary/offers/{offer.Id}?key={secret}")],
                UselessAt = offer.HeldUntil,
            },
            cancel);
    }

    /// <summary>Closes an open offer and tells the pupil, unless it was theirs to answer and they let it pass: that it is taken, or else cannot be had as it was offered.</summary>
    public async Task CloseAsync(OfferedSlot offer, OfferState state, Instant now, CancellationToken cancel, bool taken = true)
    {
        (offer.State, offer.AnsweredAt) = (state, now);
        await outbox.WithdrawAsync(offer.Id, [WaitingWording.Offered], cancel);
        if (state == OfferState.Gone)
        {
            List<Fact> facts = [Fact.Of(WaitingWording.Time, offer.During)];
            if (!taken)
            {
                facts.Add(Fact.Of(WaitingWording.Changed, "since"));
            }

            await outbox.WriteAsync(
                new(WaitingWording.Ended, $"{WaitingWording.Ended}:{offer.Id}", offer.Id, Receiver.Pupil(offer.PupilId), facts)
                {
                    UselessAt = offer.StartsAt,
                },
                cancel);
        }
    }
}
