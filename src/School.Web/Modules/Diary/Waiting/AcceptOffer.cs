using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Charges;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>
/// Accepts an offer. Of all who accept the same time exactly one has it: the instructor's day is locked first, then
/// the row of the freed time, and the index on accepted offers is the last guard.
/// </summary>
internal sealed class AcceptOffer(SchoolDb db, BookLesson book, MoveLesson move, LessonGrounds grounds, LessonMail mail, WaitingMail waitingMail, IClock clock)
{
    private static readonly Refusal Gone = Refusal.Conflict("offer_gone", "This time has gone to somebody else. You keep your place on the waiting list.");

    /// <summary>Whatever the cause: the diary, the rules of the school or what is offered has changed since.</summary>
    private static readonly Refusal NotAsOffered = Refusal.Conflict("offer_gone", WaitingWords.NotAsOffered);

    public Task<Outcome<Lesson>> RunAsync(Guid id, CancellationToken cancel) =>
        db.InTransactionAsync<Lesson>(
            async cancel =>
            {
                if (await SeenAsync(id, cancel) is not { } seen)
                {
                    return Refusal.NotFound("offer");
                }

                var asked = new Asked();
                var ground = await grounds.TakeAsync(Viewer.Service, Wish(seen, asked), cancel);
                if (ground.Pupil is not { } pupil || ground.Instructor(seen.Offer.InstructorId) is not { } instructor)
                {
                    return Refusal.NotFound("offer");
                }

                var (freed, offer, entry) = (asked.Freed.All[0], asked.Offer.All[0], asked.Entry.All[0]);
                if (Closed(offer, freed, entry, asked.Settings.All[0].ToRules()) is { } closed)
                {
                    return closed;
                }

                // The school offered it, so the school's rules for its own bookings hold: no notice, but everything else.
                var by = Viewer.Service with { Name = $"{pupil.Name}, waiting list" };
                var lesson = offer.InsteadOfId is null
                    ? await AddAsync(offer, pupil, instructor, by, cancel)
                    : await MoveAsync(offer, asked.Instead.All, pupil, instructor, seen.Instead, by, cancel);
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

                foreach (var other in asked.Others.All)
                {
                    await waitingMail.CloseAsync(other, OfferState.Gone, now, cancel);
                }

                return lesson;
            },
            cancel);

    /// <summary>What the locks go by: the offer, and the lesson that would move.</summary>
    private async Task<SeenOffer?> SeenAsync(Guid id, CancellationToken cancel) => await (
        from offer in db.Set<OfferedSlot>().AsNoTracking()
        join lesson in db.Set<Lesson>().AsNoTracking() on offer.InsteadOfId equals (Guid?)lesson.Id into instead
        from lesson in instead.DefaultIfEmpty()
        where offer.Id == id
        select new SeenOffer(offer, lesson)).SingleOrDefaultAsync(cancel);

    private GroundWish Wish(SeenOffer seen, Asked asked)
    {
        var (offer, instead) = seen;
        DiaryMoment[] left = instead is null ? [] : [new(instead.InstructorId, instead.StartsAt)];
        return new(offer.PupilId, [new(offer.InstructorId, offer.StartsAt), .. left])
        {
            Kind = instead is null ? offer.Kind : LessonKind.Standard,
            Cars = instead is null ? [] : [instead.CarId],
            Question = (pupil, date) => instead is null
                ? new AskedPlaces(null, null).Question(pupil, date, offer.Minutes, offer.Kind)
                : SlotQuestion.ToMove(instead, date),
            Also = together =>
            {
                asked.Freed = together.Ask(db.Set<FreedSlot>().FromSql($"SELECT * FROM diary.freed_slots WHERE id = {offer.FreedId} FOR UPDATE"));
                asked.Offer = together.Ask(db.Set<OfferedSlot>().Where(o => o.Id == offer.Id));
                asked.Entry = together.Ask(db.Set<WaitingEntry>().Where(w => w.Id == offer.WaitingId));
                asked.Settings = together.Ask(db.Set<WaitingSettings>().AsNoTracking());
                asked.Instead = together.Ask(db.Set<Lesson>().Where(l => l.Id == offer.InsteadOfId));
                asked.Others = together.Ask(db.Set<OfferedSlot>()
                    .Where(o => o.State == OfferState.Open && o.Id != offer.Id && (o.FreedId == offer.FreedId || o.WaitingId == offer.WaitingId)));
            },
        };
    }

    private Refusal? Closed(OfferedSlot offer, FreedSlot freed, WaitingEntry entry, WaitingRules rules)
    {
        var now = clock.GetCurrentInstant();
        return offer.State switch
        {
            OfferState.Accepted => Refusal.Conflict("offer_accepted", "You have accepted this offer already. The lesson is in your list."),
            OfferState.Declined => Refusal.Conflict("offer_closed", "You have declined this offer. You keep your place on the waiting list."),
            OfferState.Gone => freed.State == FreedState.Taken ? Gone : NotAsOffered,
            OfferState.Lapsed => Lapsed,
            OfferState.Open when freed.State == FreedState.Taken => Gone,
            OfferState.Open when entry.State != WaitingState.Waiting => NotAsOffered,
            OfferState.Open when offer.HeldUntil <= now || WaitingList.LastMoment(freed.StartsAt, rules) <= now => Lapsed,
            OfferState.Open => null,
        };
    }

    private static Refusal Lapsed { get; } = Refusal.Rule("offer_lapsed", "The time to accept this offer has run out. You keep your place on the waiting list.");

    private async Task<Outcome<Lesson>> AddAsync(OfferedSlot offer, PupilCard pupil, InstructorCard instructor, Viewer by, CancellationToken cancel)
    {
        var added = await book.AddAsync(new(pupil, instructor, offer.Minutes, pupil.PickUp, pupil.PickUp) { Kind = offer.Kind }, offer.StartsAt, null, by, cancel);
        if (!added.Ok || added.Value.During != offer.During)
        {
            return NotAsOffered;
        }

        await mail.BookedAsync(added.Value, by, cancel);
        return added;
    }

    private async Task<Outcome<Lesson>> MoveAsync(
        OfferedSlot offer, IReadOnlyList<Lesson> instead, PupilCard pupil, InstructorCard instructor, Lesson? seen, Viewer by, CancellationToken cancel)
    {
        if (seen is null || instead is not [var lesson] || lesson.Version != seen.Version || lesson.StartsAt <= offer.StartsAt)
        {
            return Refusal.Conflict("lesson_changed", "The lesson that would move has changed since this was offered. You keep your place on the waiting list.");
        }

        var moved = await move.ApplyAsync(by, lesson, pupil, instructor, offer.StartsAt, ChargeCause.School, cancel);
        if (!moved.Ok || lesson.During != offer.During)
        {
            return NotAsOffered;
        }

        await mail.MovedAsync(moved.Value, by, cancel);
        return lesson;
    }

    /// <summary>The offer, and the lesson that would move, as they were before the locks.</summary>
    private sealed record SeenOffer(OfferedSlot Offer, Lesson? Instead);

    /// <summary>What is read under the locks; the row of the freed time first, since it is waited for.</summary>
    private sealed class Asked
    {
        public Rows<FreedSlot> Freed { get; set; } = new();

        public Rows<OfferedSlot> Offer { get; set; } = new();

        public Rows<WaitingEntry> Entry { get; set; } = new();

        public Rows<WaitingSettings> Settings { get; set; } = new();

        public Rows<Lesson> Instead { get; set; } = new();

        public Rows<OfferedSlot> Others { get; set; } = new();
    }
}
