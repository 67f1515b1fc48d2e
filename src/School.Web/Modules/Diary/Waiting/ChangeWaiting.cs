using System.Text.Json.Serialization;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>What is waited for from now on. Days and kind are for any lesson: this week's days and the kind that it was when none are given.</summary>
internal sealed record ChangeWaitingRequest([property: JsonRequired] WaitingFor For, Guid? InstructorId = null, LocalDate? From = null, LocalDate? To = null, LessonKind? Kind = null);

/// <summary>Changes what somebody waits for; the place in the order stays, and open offers of what is no longer wanted end.</summary>
internal sealed class ChangeWaiting(SchoolDb db, JoinWaitingList join, WaitingMail mail, SchoolInfo school, Audit audit, IClock clock)
{
    public async Task<Outcome<WaitingEntry>> RunAsync(Viewer viewer, Guid id, ChangeWaitingRequest request, int? expected, CancellationToken cancel)
    {
        if (await db.Set<WaitingEntry>().AsNoTracking().SingleOrDefaultAsync(w => w.Id == id, cancel) is not { } before || !viewer.Sees(before.PupilId))
        {
            return Refusal.NotFound(WaitingAccess.Entry);
        }

        // What is not said stays: a pupil whom the school put on the list for a kind that only it books changes days and keeps the kind.
        var kept = before.For == WaitingFor.AnyLesson && request.For == WaitingFor.AnyLesson ? before.Kind : (LessonKind?)null;
        var read = await join.ReadAsync(viewer, new(before.PupilId, request.For, request.InstructorId, request.From, request.To, request.Kind ?? kept), cancel, kept);
        if (!read.Ok)
        {
            return read.Refusal;
        }

        var zone = (await school.GetAsync(cancel)).Zone;
        return await db.InTransactionAsync<WaitingEntry>(
            async cancel =>
            {
                var taken = await db.Set<WaitingEntry>().TakeAsync(id, expected, WaitingAccess.Entry, cancel);
                if (!taken.Ok)
                {
                    return taken;
                }

                var entry = taken.Value;
                if (entry.Change(read.Value) is { } closed)
                {
                    return closed;
                }

                audit.NoteValues(viewer, "waiting.change", id, "Changed an entry on the waiting list", entry);
                foreach (var offer in await db.Set<OfferedSlot>().Where(o => o.WaitingId == id && o.State == OfferState.Open).ToListAsync(cancel))
                {
                    if ((offer.InsteadOfId is null) != (entry.For == WaitingFor.AnyLesson) || (offer.InsteadOfId is null && offer.Kind != entry.Kind) || !entry.Wants(offer.InstructorId, offer.StartsAt.InZone(zone).Date))
                    {
                        await mail.CloseAsync(offer, OfferState.Declined, clock.GetCurrentInstant(), cancel);
                    }
                }

                return entry;
            },
            cancel);
    }
}
