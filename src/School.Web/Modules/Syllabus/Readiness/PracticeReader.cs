using School.Core.Syllabus.Readiness;

namespace School.Web.Modules.Syllabus.Readiness;

/// <summary>Where the forecast gets private practice from.</summary>
internal sealed class PracticeReader
{
    /// <summary>Practice by pupil, in any order. None is recorded yet.</summary>
    public Task<ILookup<Guid, PracticeTime>> OfPupilsAsync(IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel) =>
        Task.FromResult(pupilIds.SelectMany(_ => Array.Empty<(Guid Pupil, PracticeTime Time)>()).ToLookup(one => one.Pupil, one => one.Time));
}
