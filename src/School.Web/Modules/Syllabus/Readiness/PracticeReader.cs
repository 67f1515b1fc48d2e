using School.Core.Syllabus.Readiness;
using School.Web.Modules.Syllabus.Practice;

namespace School.Web.Modules.Syllabus.Readiness;

/// <summary>Where the forecast gets private practice from.</summary>
internal sealed class PracticeReader(PracticeBook book)
{
    /// <summary>Practice by pupil, earliest first.</summary>
    public async Task<ILookup<Guid, PracticeTime>> OfPupilsAsync(IReadOnlyCollection<Guid> pupilIds, CancellationToken cancel) =>
        (await book.OfPupilsAsync(pupilIds, cancel)).SelectMany(of => of.Value, (of, drive) => (Pupil: of.Key, Time: new PracticeTime(drive.On, drive.Minutes)))
            .ToLookup(one => one.Pupil, one => one.Time);
}
