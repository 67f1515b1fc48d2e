using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Waiting;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>Takes a test day off the diary; the official test is untouched, and the day stays in the history.</summary>
internal sealed class TakeOffTestDay(SchoolDb db, TestDayAccess access, TestDayHistory history, TestDayMail mail, FreedSlots freed, IClock clock)
{
    public Task<Outcome<TestDay>> RunAsync(Guid id, int? expectedVersion, Viewer viewer, CancellationToken cancel) => db.InTransactionAsync<TestDay>(
        async cancel =>
        {
            if (await (await access.VisibleAsync(viewer, cancel)).SingleOrDefaultAsync(t => t.Id == id, cancel) is not { } row)
            {
                return Refusal.NotFound("test day");
            }

            if (expectedVersion is { } version && version != row.Version)
            {
                return Refusal.Stale;
            }

            if (row.NotOpen("taken off") is { } closed)
            {
                return closed;
            }

            row.TakeOff(clock.GetCurrentInstant());
            await freed.NoteTestAsync(row.PupilId, row.InstructorId, row.Blocked, null, cancel);
            history.Note(row, "Taken off the diary.", viewer);
            await mail.TakenOffAsync(row, viewer, cancel);
            return row;
        },
        cancel);
}
