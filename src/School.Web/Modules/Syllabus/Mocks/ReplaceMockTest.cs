using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Mocks;

/// <summary>Takes the whole of a mock test over.</summary>
internal sealed class ReplaceMockTest(MockTestEdit edit)
{
    public Task<Outcome<MockTest>> RunAsync(Viewer viewer, Guid id, MockTestRequest request, int? expected, CancellationToken cancel) =>
        edit.ChangeAsync(viewer, id, expected, mock => edit.FillAsync(viewer, mock, request, cancel), cancel, request.NotSupervising);
}
