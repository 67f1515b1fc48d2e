using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Mocks;

/// <summary>Begins a mock test, or takes one that was driven as a whole.</summary>
internal sealed class AddMockTest(SchoolDb db, MockTestEdit edit, DeviceRule device, PupilBook pupils, OwnPupils own, IClock clock)
{
    public Task<Outcome<MockTest>> RunAsync(Viewer viewer, Guid pupilId, MockTestRequest request, CancellationToken cancel) => db.InTransactionAsync<MockTest>(async cancel =>
    {
        if (await pupils.FindAsync(pupilId, viewer, cancel) is null)
        {
            return Refusal.NotFound("pupil");
        }

        if (await own.RefuseAsync(viewer, pupilId, cancel) is { } notYours)
        {
            return notYours;
        }

        var mock = new MockTest
        {
            PupilId = pupilId,
            On = default,
            StartedAt = clock.GetCurrentInstant(),
            RecordedBy = viewer.PersonId,
            RecordedByName = viewer.Name,
        };
        if ((await device.RefuseAsync(viewer, mock, request.NotSupervising, cancel) ?? await edit.FillAsync(viewer, mock, request, cancel)) is { } refusal)
        {
            return refusal;
        }

        return db.Add(mock).Entity;
    }, cancel);
}
