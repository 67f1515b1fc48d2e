using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Charges;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>
/// Accepts an offer. Of all who accept the same time exactly one has it: the instructor's day is locked first, then
/// the row of the freed time, and the index on accepted offers is the last guard.
/// </summary>
internal sealed class AcceptOffer(
    SchoolDb db, BookLesson book, MoveLesson move, LessonLocks locks, LessonMail mail, WaitingMail waitingMail, PupilBook pupils,
    InstructorBook instructors, SchoolInfo school, IClock clock)
{
    private static readonly Refusal Gone = Refusal.Conflict("offer_gone", "This time has gone to somebody else. You keep your place on the waiting list.");

    public async Task<Outcome<Lesson>> RunAsync(Guid id, CancellationToken cancel)
    {
        if (await db.Set<OfferedSlot>().AsNoTracking().SingleOrDefaultAsync(o => o.Id == id, cancel) is not { } seen
            || await instructors.FindAsync(seen.InstructorId, cancel) is not { } instructor)
        {
            return Refusal.NotFound("offer");
        }

        var pupil = (await pupils.CardsAsync([seen.PupilId], cancel))[seen.PupilId];
        // The school offered it, so the school's rules for its own bookings hold: no notice, but everything else.
        var by = Viewer.Service with { Name = $"{pupil.Name}, waiting list" };
        var instead = await db.Set<Lesson>().AsNoTracking().SingleOrDefaultAsync(l => l.Id == seen.InsteadOfId, cancel);
        var zone = (await school.GetAsync(cancel)).Zone;
        DiaryDay DayOf(Guid teacher, Instant start) => new(teacher, start.InZone(zone).Date);
        return await db.InTransactionAsync<Lesson>(
            async cancel =>
            {
                var days = new List<DiaryDay> { DayOf(seen.InstructorId, seen.StartsAt) };
                if (instead is not null)
                {
                    days.Add(DayOf(instead.InstructorId, instead.StartsAt));
                }

                await locks.TakeAsync(pupil.Id, days, instead is null ? [] : [instead.CarId], cancel);
                var freed = (await db.Set<FreedSlot>().FromSql($"SELECT * FROM diary.freed_slots WHERE id = {seen.FreedId} FOR UPDATE").ToListAsync(cancel))[0];
                var offer = await db.Set<OfferedSlot>().SingleAsync(o => o.Id == id, cancel);
                var entry = await db.Set<WaitingEntry>().SingleAsync(w => w.Id == offer.WaitingId, cancel);
                if (await ClosedAsync(offer, freed, entry, cancel) is { } closed)
                {
                    return closed;
                }

                var lesson = offer.InsteadOfId is null
                    ? await AddAsync(offer, pupil, instructor, by, cancel)
                    : await MoveAsync(offer, pupil, instructor, instead, by, cancel);
                if (!lesson.Ok)
                {
                    return lesson;
                }

                var now = clock.GetCurrentInstant();
                (offer.State, offer.AnsweredAt, offer.LessonId, freed.State) = (OfferState.Accepted, now, lesson.Value.Id, FreedState.Taken);
                if (entry.Close(WaitingState.Served, now) is { } gone)
                {
                    return gone;
                }

                var others = await db.Set<OfferedSlot>()
                    .Where(o => o.State == OfferState.Open && o.Id != id && (o.FreedId == freed.Id || o.WaitingId == entry.Id)).ToListAsync(cancel);
                foreach (var other in others)
                {
                    await waitingMail.CloseAsync(other, OfferState.Gone, now, cancel);
                }

                return lesson;
            },
            cancel);
    }

    private async Task<Refusal?> ClosedAsync(OfferedSlot offer, FreedSlot freed, WaitingEntry entry, CancellationToken cancel)
    {
        var (now, rules) = (clock.GetCurrentInstant(), (await db.Set<WaitingSettings>().AsNoTracking().SingleAsync(cancel)).ToRules());
        return offer.State switch
        {
            OfferState.Accepted => Refusal.Conflict("offer_accepted", "You have accepted this offer already. The lesson is in your list."),
            OfferState.Declined => Refusal.Conflict("offer_closed", "You have declined this offer. You keep your place on the waiting list."),
            OfferState.Gone => Gone,
            OfferState.Lapsed => Lapsed,
            OfferState.Open when freed.State == FreedState.Taken || entry.State != WaitingState.Waiting => Gone,
            OfferState.Open when offer.HeldUntil <= now || WaitingList.LastMoment(freed.StartsAt, rules) <= now => Lapsed,
            OfferState.Open => null,
        };
    }

    private static Refusal Lapsed { get; } = Refusal.Rule("offer_lapsed", "The time to accept this offer has run out. You keep your place on the waiting list.");

    private async Task<Outcome<Lesson>> AddAsync(OfferedSlot offer, PupilCard pupil, InstructorCard instructor, Viewer by, CancellationToken cancel)
    {
        var added = await book.AddAsync(new(pupil, instructor, offer.Minutes, pupil.PickUp, pupil.PickUp), offer.StartsAt, null, by, cancel);
        if (!added.Ok)
        {
            return Gone;
        }

        await mail.BookedAsync(added.Value, by, cancel);
        return added;
    }

    private async Task<Outcome<Lesson>> MoveAsync(
        OfferedSlot offer, PupilCard pupil, InstructorCard instructor, Lesson? seen, Viewer by, CancellationToken cancel)
    {
        var lesson = await db.Set<Lesson>().SingleAsync(l => l.Id == offer.InsteadOfId, cancel);
        if (seen is null || lesson.Version != seen.Version || lesson.StartsAt <= offer.StartsAt)
        {
            return Refusal.Conflict("lesson_changed", "The lesson that would move has changed since this was offered. You keep your place on the waiting list.");
        }

        var moved = await move.ApplyAsync(by, lesson, pupil, instructor, offer.StartsAt, ChargeCause.School, cancel);
        if (!moved.Ok)
        {
            return Gone;
        }

        await mail.MovedAsync(moved.Value, by, cancel);
        return lesson;
    }
}
