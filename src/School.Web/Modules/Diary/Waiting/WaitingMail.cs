using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>Letters about offers, written in the transaction of what they tell.</summary>
internal sealed class WaitingMail(Outbox outbox, PupilBook pupils, InstructorBook instructors, SchoolInfo school, PublicUrl url)
{
    public const string Offered = "waiting_offer";
    public const string Ended = "waiting_offer_ended";

    public async Task OfferedAsync(OfferedSlot offer, string secret, Fitting wish, CancellationToken cancel)
    {
        var (facts, teacher) = (await school.GetAsync(cancel), (await instructors.FindAsync(offer.InstructorId, cancel))!);
        List<(string, string)> lines = [("When", facts.When(offer.During)), ("With", teacher.Name)];
        if (wish.InsteadOf is { } instead)
        {
            lines.Add(("Instead of", facts.When(instead.During)));
        }

        Write(offer, Offered, wish.Pupil, offer.HeldUntil, new(
            $"A lesson is free: {facts.When(offer.During)}",
            $"Hello {wish.Pupil.Name},",
            "You are on the waiting list, and this time has come free.",
            lines,
            [
                $"To take it, open {url.Of($"/diary/offers/{offer.Id}?key={secret}")} and press Accept.",
                $"The offer holds until {facts.Moment(offer.HeldUntil)}. Others may have it too: the first to accept gets the lesson. If you do nothing, you stay on the list.",
            ],
            facts.Name));
    }

    /// <summary>Closes an open offer and tells the pupil, unless it was theirs to answer and they let it pass.</summary>
    public async Task CloseAsync(OfferedSlot offer, OfferState state, Instant now, CancellationToken cancel)
    {
        (offer.State, offer.AnsweredAt) = (state, now);
        await outbox.WithdrawAsync(offer.Id, [Offered], cancel);
        if (state != OfferState.Gone)
        {
            return;
        }

        var (facts, pupil) = (await school.GetAsync(cancel), (await pupils.CardsAsync([offer.PupilId], cancel))[offer.PupilId]);
        Write(offer, Ended, pupil, offer.StartsAt, new(
            $"No longer free: {facts.When(offer.During)}",
            $"Hello {pupil.Name},",
            "The lesson that you were offered has gone. You stay on the waiting list.",
            [("When", facts.When(offer.During))],
            [],
            facts.Name));
    }

    private void Write(OfferedSlot offer, string kind, PupilCard pupil, Instant uselessAt, Letter letter)
    {
        if (pupil.Email.Length > 0)
        {
            outbox.Write(new($"{kind}:{offer.Id}", offer.Id, kind, pupil.Name, pupil.Email, letter.Subject, letter.ToText(), letter.ToHtml())
            {
                UselessAt = uselessAt,
            });
        }
    }
}
