using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Mocks;

/// <summary>Throws away a mock test that was begun by mistake; a finished one stays.</summary>
internal sealed class DiscardMockTest(SchoolDb db, MockTestEdit edit)
{
    public Task<Outcome<MockTest>> RunAsync(Viewer viewer, Guid id, CancellationToken cancel) => edit.ChangeAsync(viewer, id, null, mock =>
    {
        if (mock.FinishedAt is not null)
        {
            return Task.FromResult<Refusal?>(Refusal.Conflict("mock_finished", "This mock test is finished, so it stays. Put right what is wrong about it."));
        }

        db.Remove(mock);
        return Task.FromResult<Refusal?>(null);
    }, cancel);
}
