using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>Changes a test day that is ahead; those whose time it moves are told.</summary>
internal sealed class ChangeTestDay(
    SchoolDb db, TestDayAccess access, TestDayRules rules, TestDayClashes clashes, TestDayHistory history, TestDayMail mail, PupilBook pupils, FreedSlots freed, IClock clock)
{
    public Task<Outcome<TestDay>> RunAsync(Viewer viewer, Guid id, TestDayRequest request, int? expected, CancellationToken cancel) => db.InTransactionAsync<TestDay>(
        async cancel =>
        {
            var visible = access.Visible(viewer);
            if (await visible.AsNoTracking().SingleOrDefaultAsync(t => t.Id == id, cancel) is not { } before
                || await pupils.FindAsync(before.PupilId, viewer, cancel) is not { } pupil)
            {
                return Refusal.NotFound("test day");
            }

            if (NotThis(request, before) is { } refusal)
            {
                return refusal;
            }

            var read = await rules.ReadAsync(request, pupil, before, request.Start == before.StartsAt, viewer, cancel);
            if (!read.Ok)
            {
                return read.Refusal;
            }

            await rules.LockAsync(pupil.Id, read.Value, cancel);
            // What was read of the request rests on the day as it stood then.
            var taken = await visible.TakeAsync(id, expected ?? before.Version, "test day", cancel);
            if (taken is not { Value: { } row })
            {
                return taken;
            }

            var (former, from, blocked) = (row.InstructorId, row.During, row.Blocked);
            var told = row.Change(read.Value, clock.GetCurrentInstant());
            row.InsuredSeenOn = viewer.KeepsDiary && !request.InsuredForTest ? null : row.InsuredSeenOn ?? await rules.SeenAsync(request, row, viewer, cancel);
            if (told && await clashes.FindAsync(row, cancel) is { } clash)
            {
                return clash;
            }

            history.Note(row, $"Changed: {await rules.InWordsAsync(row, cancel)}.", viewer);
            if (told)
            {
                await freed.NoteRestAsync(row.PupilId, former, blocked, row.InstructorId == former ? row.Blocked : null, cancel);
                await mail.ChangedAsync(row, from, former, viewer, cancel);
            }

            return row;
        },
        cancel);

    private Refusal? NotThis(TestDayRequest request, TestDay before) =>
        request.PupilId != before.PupilId
            ? Refusal.Invalid(nameof(request.PupilId), "A test day stays with its pupil. Take this one off and enter one for the other pupil.")
        : request.Result is not null ? Refusal.Invalid(nameof(request.Result), "The result has an address of its own.")
        : before.NotOpen("changed") is { } closed ? closed
        : request.Start <= clock.GetCurrentInstant() && request.Start != before.StartsAt
            ? TestDayRules.At(nameof(request.Start), "test_in_past", "This time has passed. Look at the date.")
        : null;
}
