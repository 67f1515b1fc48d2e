using Microsoft.EntityFrameworkCore;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils;

/// <summary>Who may be given the hat of a pupil.</summary>
internal sealed class PupilsWhoLearn(SchoolDb db) : IKnowPupils
{
    public Task<bool> LearnsAsync(Guid pupilId, CancellationToken cancel) => db.Set<Pupil>().AnyAsync(p => p.Id == pupilId && p.RetiredOn == null, cancel);
}
