using NodaTime;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.Messages.Contracts;

namespace School.Web.Demo.Scale;

/// <summary>Who waits for an earlier or another lesson, and which of the times that came free they were offered. One for each step.</summary>
internal sealed class ScaleOffers
{
    private const int EverySoMany = 6;
    private const int Share = 40;
    private static readonly Duration Held = Duration.FromHours(1);

    private (ScalePupil Pupil, WaitingEntry Entry)? _waits;

    /// <summary>Every sixth pupil waited, or waits.</summary>
    public void Wait(ScalePupil pupil)
    {
        if (pupil.Course.Number % EverySoMany != 1)
        {
            return;
        }

        var calendar = pupil.Ground.Calendar;
        var since = pupil.Joined + Duration.FromDays(6 + pupil.Dice.Next(5));
        var today = calendar.Today;
        var entry = new WaitingEntry { Id = pupil.Ids.Next(since), PupilId = pupil.Row.Id, Since = since }.Take(
            !pupil.Course.Present || pupil.Course.Number % 4 == 1
                ? new(WaitingFor.EarlierLesson, null, null, null)
                : new(WaitingFor.AnyLesson, pupil.Teacher.Row.Id, today.PlusDays(2), today.PlusDays(16)));
        if (!pupil.Course.Present)
        {
            _ = entry.Close(pupil.Dice.Percent(50) ? WaitingState.Left : WaitingState.Over, since + Duration.FromDays(40));
            entry.Touch();
        }

        pupil.Rows.Add(entry);
        _waits = (pupil, entry);
    }

    /// <summary>A time came free: sometimes the last who began to wait was offered it, and let it pass.</summary>
    public void Freed(ScalePupil by, FreedSlot freed)
    {
        if (_waits is not { } waits || waits.Pupil == by || !by.Dice.Percent(Share))
        {
            return;
        }

        var (pupil, at) = (waits.Pupil, freed.FreedAt + Duration.FromSeconds(20));
        var declined = by.Dice.Percent(50);
        var offer = by.Rows.Add(new OfferedSlot
        {
            Id = by.Ids.Next(at),
            FreedId = freed.Id,
            WaitingId = waits.Entry.Id,
            PupilId = pupil.Row.Id,
            InstructorId = freed.InstructorId,
            StartsAt = freed.StartsAt,
            Minutes = Math.Min((int)(freed.EndsAt - freed.StartsAt).TotalMinutes, pupil.Course.Minutes),
            OfferedAt = at,
            HeldUntil = at + Held,
            State = declined ? OfferState.Declined : OfferState.Lapsed,
            AnsweredAt = declined ? at + Duration.FromMinutes(12) : at + Held,
            SecretHash = OfferedSlot.HashOf($"{freed.Id}"),
        });
        List<Fact> facts =
        [
            Fact.Of(WaitingWording.Time, offer.During), Fact.Of(WaitingWording.Instructor, by.Teacher.Row.Name), Fact.Of(WaitingWording.HeldUntil, offer.HeldUntil),
        ];
        ScalePeople.Write(
            by.Rows, by.Ids,
            new(WaitingWording.Offered, $"{WaitingWording.Offered}:{offer.Id}", offer.Id, pupil.Receiver, facts)
            {
                Acts = [new(WaitingWording.Answer, $"/diary/offers/{offer.Id}")],
                UselessAt = offer.HeldUntil,
            },
            pupil.Address, at, by.Ground.Calendar.Now);
    }
}
