using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Waiting;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>Records how a test ended, or puts the record right; the history keeps what stood before.</summary>
internal sealed class RecordTestResult(SchoolDb db, TestDayAccess access, TestDayHistory history, TestDayMail mail, FreedSlots freed, IClock clock)
{
    public Task<Outcome<TestDay>> RunAsync(Viewer viewer, Guid id, TestResultRequest request, int? expected, CancellationToken cancel) =>
        db.InTransactionAsync<TestDay>(
            async cancel =>
            {
                var taken = await access.Visible(viewer).TakeAsync(id, expected, "test day", cancel);
                if (taken is not { Value: { } row })
                {
                    return taken;
                }

                if (row.State is TestDayState.TakenOff)
                {
                    return Refusal.Conflict("test_day_closed", "This test day is off the diary. Enter the test anew together with its result.");
                }

                var read = request.Read();
                if (!read.Ok)
                {
                    return read.Refusal;
                }

                var (result, now) = (read.Value, clock.GetCurrentInstant());
                // The agency may call a test off before its day.
                if (now < row.StartsAt && result.Ending is not TestEnding.CancelledByAgency)
                {
                    return Refusal.Rule("test_not_taken", "This test is still to come. Record its result once it is known.");
                }

                var before = row.HasResult ? $" Before: {TestDayWords.Result(row.Ending ?? TestEnding.Completed, row.State is TestDayState.Passed, row.Sum)}." : "";
                if (result.Ending is TestEnding.NotConducted or TestEnding.CancelledByAgency)
                {
                    var ahead = row.BlockedUntil > now;
                    row.TakeOff(now, result.Ending);
                    if (ahead)
                    {
                        await freed.NoteRestAsync(row.PupilId, row.InstructorId, row.Blocked, null, cancel);
                    }

                    history.Note(row, $"Result: {TestDayWords.Result(result.Ending, false, default)}.{before}", viewer);
                    await mail.TakenOffAsync(row, viewer, cancel);
                    return row;
                }

                // The note is the staff's; what a pupil sends leaves it alone.
                row.Record(result.Ending, result.Passed, result.Sum, result.Marks, result.EtaVerbal, result.EtaPhysical, viewer.Towards(row.PupilId).IsStaff ? result.Note : row.Note);
                history.Note(row, $"Result: {TestDayWords.Result(result.Ending, result.Passed, result.Sum)}.{before}", viewer);
                await mail.OverAsync(row, cancel);
                return row;
            },
            cancel);
}
