using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Lessons;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>Records how a test ended, or puts the record right; the history keeps what stood before.</summary>
internal sealed class RecordTestResult(SchoolDb db, TestDayAccess access, TestDayHistory history, TestDayMail mail, IClock clock)
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

                if (clock.GetCurrentInstant() < row.StartsAt)
                {
                    return Refusal.Rule("test_not_taken", "This test is still to come. Record its result once it is known.");
                }

                var read = request.Read();
                if (!read.Ok)
                {
                    return read.Refusal;
                }

                var result = read.Value;
                var before = row.HasResult ? $" Before: {(row.State is TestDayState.Passed ? "passed" : "failed")}, {TestResultReading.Words(row.Sum)}." : "";
                // The note is the staff's; what a pupil sends leaves it alone.
                row.Record(result.Passed, result.Sum, result.Marks, result.EtaVerbal, result.EtaPhysical, viewer.IsStaff ? result.Note : row.Note);
                history.Note(row, $"Result: {(result.Passed ? "passed" : "failed")}, {TestResultReading.Words(result.Sum)}.{before}", viewer);
                await mail.OverAsync(row, cancel);
                return row;
            },
            cancel);
}
