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
    public Task<Outcome<TestDay>> RunAsync(Viewer viewer, Guid id, int? expected, CancellationToken cancel) => db.InTransactionAsync<TestDay>(
        async cancel =>
        {
            var taken = await access.Visible(viewer).TakeAsync(id, expected, "test day", cancel);
            if (taken is not { Value: { } row })
            {
                return taken;
            }

            if (row.NotOpen("taken off") is { } closed)
            {
                return closed;
            }

            row.TakeOff(clock.GetCurrentInstant());
            await freed.NoteRestAsync(row.PupilId, row.InstructorId, row.Blocked, null, cancel);
            history.Note(row, "Taken off the diary.", viewer);
            await mail.TakenOffAsync(row, viewer, cancel);
            return row;
        },
        cancel);
}
