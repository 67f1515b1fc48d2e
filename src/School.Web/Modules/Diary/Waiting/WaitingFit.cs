using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Core.Pupils;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>A freed time that fits somebody who waits: how long, and which lesson of theirs it would replace.</summary>
internal sealed record Fitting(WaitingEntry Entry, PupilCard Pupil, int Minutes, Lesson? InsteadOf)
{
    public LessonKind Kind => InsteadOf?.Kind ?? Entry.Kind;

    /// <summary>The rests that it would have.</summary>
    public IReadOnlyList<LessonBreak> Breaks { get; init; } = [];
}

/// <summary>Whom a freed time fits, by the same rules as booking; the notice does not apply, since it is the school that offers.</summary>
internal sealed class WaitingFit(SchoolDb db, SlotFinder slots, PictureLoader pictures, PupilBook pupils, PupilTimes times, SchoolInfo school, IClock clock)
{
    public async Task<IReadOnlyList<Fitting>> FindAsync(FreedSlot freed, IReadOnlyCollection<Guid> asked, CancellationToken cancel)
    {
        var date = freed.StartsAt.InZone((await school.GetAsync(cancel)).Zone).Date;
        var entries = await db.Set<WaitingEntry>().AsNoTracking().Where(w =>
            w.State == WaitingState.Waiting && w.PupilId != freed.FreedByPupilId && !asked.Contains(w.Id)
            && (w.InstructorId == null || w.InstructorId == freed.InstructorId)
            && (w.From == null || (w.From <= date && w.To >= date))).ToListAsync(cancel);
        var cards = await pupils.CardsAsync(entries.Select(w => w.PupilId), cancel);
        var fitting = new List<Fitting>();
        foreach (var entry in entries)
        {
            if (await WouldTakeAsync(entry, cards[entry.PupilId], freed, cancel) is { } wish && await FitsAsync(wish, freed, cancel) is { } offer)
            {
                fitting.Add(wish with { Breaks = offer.Breaks });
            }
        }

        return fitting;
    }

    /// <summary>Whether the time is still to be had.</summary>
    public async Task<bool> StillFitsAsync(OfferedSlot offer, FreedSlot freed, CancellationToken cancel)
    {
        var entry = await db.Set<WaitingEntry>().AsNoTracking().SingleAsync(w => w.Id == offer.WaitingId, cancel);
        var card = (await pupils.CardsAsync([entry.PupilId], cancel))[entry.PupilId];
        return entry.State == WaitingState.Waiting
            && entry.Wants(freed.InstructorId, freed.StartsAt.InZone((await school.GetAsync(cancel)).Zone).Date)
            && await WouldTakeAsync(entry, card, freed, cancel) is { } wish
            && wish.InsteadOf?.Id == offer.InsteadOfId && wish.Minutes == offer.Minutes && wish.Kind == offer.Kind
            && await FitsAsync(wish, freed, cancel) is { } found && found.Breaks.SequenceEqual(offer.Breaks);
    }

    /// <summary>Lessons within the days that count as lately.</summary>
    public async Task<IReadOnlyDictionary<Guid, int>> LessonsLatelyAsync(IEnumerable<Guid> pupilIds, WaitingRules rules, CancellationToken cancel)
    {
        var ids = pupilIds.ToArray();
        var since = clock.GetCurrentInstant() - Duration.FromDays(rules.LatelyDays);
        return await db.Set<Lesson>().Where(l => ids.Contains(l.PupilId) && l.State != LessonState.Cancelled && l.StartsAt >= since)
            .GroupBy(l => l.PupilId).ToDictionaryAsync(g => g.Key, g => g.Count(), cancel);
    }

    private async Task<Fitting?> WouldTakeAsync(WaitingEntry entry, PupilCard pupil, FreedSlot freed, CancellationToken cancel)
    {
        if (entry.For == WaitingFor.AnyLesson)
        {
            // Whoever takes an offer books for themselves, and is asked first.
            if (pupil.Missing != FirstLessonNeeds.None || pupil.Licence is null)
            {
                return null;
            }

            return new(entry, pupil, (await pictures.RulesAsync(cancel)).KindOf(entry.Kind).Usual(pupil.LessonMinutes), null);
        }

        var now = clock.GetCurrentInstant();
        var next = await db.Set<Lesson>().AsNoTracking().Where(l => l.PupilId == pupil.Id && l.State == LessonState.Booked && l.StartsAt > now)
            .OrderBy(l => l.StartsAt).FirstOrDefaultAsync(cancel);
        return next is not null && next.StartsAt > freed.StartsAt ? new(entry, pupil, next.Minutes, next) : null;
    }

    private async Task<SlotOffer?> FitsAsync(Fitting wish, FreedSlot freed, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var recorded = (await times.ReadAsync([wish.Pupil.Id], cancel))[wish.Pupil.Id];
        var date = freed.StartsAt.InZone(zone).Date;
        var question = new SlotQuestion(wish.Pupil.Id, date, date, wish.Minutes)
        {
            PickUp = wish.InsteadOf?.PickUp,
            DropOff = wish.InsteadOf?.DropOff,
            MovingLessonId = wish.InsteadOf?.Id,
            Kind = wish.Kind,
        };
        // With its breaks: the pupil is taken until the end.
        return await slots.CheckAsync(question, wish.Pupil, freed.InstructorId, freed.StartsAt, Viewer.Service, cancel) is { Value: { } offer }
            && (recorded.Count == 0 || AvailableTime.Holds(recorded, new(offer.Start, offer.End), zone)) ? offer : null;
    }
}
