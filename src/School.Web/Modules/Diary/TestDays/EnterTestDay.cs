using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>
/// Enters a test day; one that has been taken comes with its result. What a pupil enters keeps only their own time free; who goes along
/// in which car is the school's to say. Nothing is asked of the official booking service.
/// </summary>
internal sealed class EnterTestDay(SchoolDb db, TestDayRules rules, TestDayClashes clashes, TestDayHistory history, TestDayMail mail, PupilBook pupils, OwnPupils own, IClock clock)
{
    public async Task<Outcome<TestDay>> RunAsync(Viewer viewer, TestDayRequest request, CancellationToken cancel)
    {
        if (await pupils.FindAsync(request.PupilId, viewer, cancel) is not { } pupil || !TestDayAccess.MayEnterFor(viewer, pupil, request.InstructorId))
        {
            return Refusal.NotFound("pupil");
        }

        if (await own.RefuseToArrangeAsync(viewer, pupil.Id, cancel) is { } notYours)
        {
            return notYours;
        }

        if (pupil.RetiredOn is not null)
        {
            return PupilRefusals.Left;
        }

        var over = request.Start <= clock.GetCurrentInstant();
        if (over && request.Result is null)
        {
            return TestDayRules.At(nameof(request.Start), "test_in_past", "This time has passed. A test that has been taken is entered together with its result; else look at the date.");
        }

        if (!over && request.Result is not null)
        {
            return TestDayRules.At(nameof(request.Start), "test_not_taken", "This test is still to come, so there is no result yet. Look at the date.");
        }

        var result = request.Result?.Read($"{nameof(request.Result)}.");
        if (result is { Ok: false })
        {
            return result.Refusal;
        }

        if (result is { Value.Ending: TestEnding.NotConducted or TestEnding.CancelledByAgency })
        {
            return Refusal.Invalid($"{nameof(request.Result)}.{nameof(TestResultRequest.Ending)}", "A test that was never in the diary and was not held need not be entered.");
        }

        var read = await rules.ReadAsync(request, pupil, null, over, viewer, cancel);
        if (!read.Ok)
        {
            return read.Refusal;
        }

        return await db.InTransactionAsync<TestDay>(
            async cancel =>
            {
                await rules.LockAsync(pupil.Id, read.Value, cancel);
                var row = TestDay.Enter(pupil.Id, read.Value, clock.GetCurrentInstant());
                row.InsuredSeenOn = await rules.SeenAsync(request, row, viewer, cancel);
                if (await clashes.FindAsync(row, cancel) is { } taken)
                {
                    return taken;
                }

                db.Add(row);
                history.Note(row, $"Entered: {await rules.InWordsAsync(row, cancel)}.", viewer);
                if (result is { Value: { } known })
                {
                    row.Record(known.Ending, known.Passed, known.Sum, known.Marks, known.EtaVerbal, known.EtaPhysical, known.Note);
                    history.Note(row, $"Result: {TestDayWords.Result(known.Ending, known.Passed, known.Sum)}.", viewer);
                }

                await mail.EnteredAsync(row, viewer, cancel);
                return row;
            },
            cancel);
    }
}
