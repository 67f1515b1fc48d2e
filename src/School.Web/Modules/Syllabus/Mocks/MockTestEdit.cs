using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.TestDays;
using School.Core.Syllabus.Mocks;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Syllabus.Mocks;

/// <summary>The part that all changes of a mock test share: one after the other, with a history once it is finished.</summary>
internal sealed class MockTestEdit(SchoolDb db, LessonBook lessons, DeviceRule device, OwnPupils own, SchoolInfo school, IClock clock)
{
    private const int LessonsBack = 200;

    /// <param name="viewer">Who asks.</param>
    /// <param name="id">Which.</param>
    /// <param name="expected">The version that was looked at.</param>
    /// <param name="change">What is done.</param>
    /// <param name="cancel">Stops.</param>
    /// <param name="notSupervising">Whether who asks says that they are parked, or that another supervises.</param>
    public Task<Outcome<MockTest>> ChangeAsync(
        Viewer viewer, Guid id, int? expected, Func<MockTest, Task<Refusal?>> change, CancellationToken cancel, bool notSupervising = false) =>
        db.InTransactionAsync<MockTest>(async cancel =>
        {
            // Two quick taps come one after the other, and both count.
            await db.LockAsync([$"mock-test:{id}"], cancel);
            var taken = await db.Set<MockTest>().VisibleTo(viewer).TakeAsync(id, expected, "mock test", cancel);
            if (!taken.Ok)
            {
                return taken;
            }

            var mock = taken.Value;
            if (await own.RefuseAsync(viewer, mock.PupilId, cancel) is { } notYours)
            {
                return notYours;
            }

            if (await device.RefuseAsync(viewer, mock, notSupervising, cancel) is { } supervising)
            {
                return supervising;
            }

            var (before, wasFinished) = (MockTestRequest.Of(mock), mock.FinishedAt is not null);
            if (await change(mock) is { } refusal)
            {
                return refusal;
            }

            if (wasFinished && MockDifference.Words(before, MockTestRequest.Of(mock)) is { Length: > 0 } words)
            {
                db.Add(new MockTestChange { MockTestId = id, At = clock.GetCurrentInstant(), ByPersonId = viewer.PersonId, ByName = viewer.Name, Words = words });
            }

            if (db.Entry(mock).State is not EntityState.Deleted && MockDifference.Any(before, MockTestRequest.Of(mock)))
            {
                mock.Touch();
            }

            return mock;
        }, cancel);

    public async Task<Refusal?> FillAsync(Viewer viewer, MockTest mock, MockTestRequest request, CancellationToken cancel)
    {
        var errors = new FieldErrors();
        var (zone, today) = ((await school.GetAsync(cancel)).Zone, (await school.GetAsync(cancel)).Today(clock));
        var on = request.On ?? today;
        if (request.LessonId is { } lessonId && (request.On is null || lessonId != mock.LessonId))
        {
            var lesson = (await lessons.OfPupilAsync(mock.PupilId, LessonsBack, viewer, cancel)).FirstOrDefault(l => l.Id == lessonId);
            errors.When(lesson is null, nameof(request.LessonId), "Choose one of this pupil's lessons, or none.");
            on = request.On ?? lesson?.StartsAt.InZone(zone).Date ?? today;
        }

        errors.When(on > today, nameof(request.On), "This day is still to come. A mock test is recorded once it was driven.")
            .When(on < today.PlusYears(-5), nameof(request.On), "This is more than five years ago. Check the year.");
        foreach (var (field, count) in new[] { (nameof(request.EtaVerbal), request.EtaVerbal), (nameof(request.EtaPhysical), request.EtaPhysical) })
        {
            errors.When(count is < 0 or > MockTest.MostEta, field, $"A number from 0 to {MockTest.MostEta}.");
        }

        errors.When(mock.FinishedAt is not null && !request.Finished, nameof(request.Finished), "This mock test is finished and stays so.");
        var faults = request.ReadFaults(mock, errors);
        var note = errors.ReadLines(nameof(request.Note), request.Note, MockTest.LongestNote);
        if (errors.ToRefusal() is { } refusal)
        {
            return refusal;
        }

        (mock.On, mock.LessonId, mock.EtaVerbal, mock.EtaPhysical, mock.Note) = (on, request.LessonId, request.EtaVerbal, request.EtaPhysical, note);
        mock.Faults = faults;
        mock.FinishedAt ??= request.Finished ? clock.GetCurrentInstant() : null;
        return null;
    }
}
