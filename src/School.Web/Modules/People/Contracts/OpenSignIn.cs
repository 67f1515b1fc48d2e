using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.People.Contracts;

internal static class OpenSignIn
{
    /// <summary>Everybody who still signs in, with whose diary they may see: everybody's, an instructor's, a pupil's. What others had made ends with their sign-in.</summary>
    public static IQueryable<OpenHats> OpenHats(this SchoolDb db) => db.Set<Person>().Where(p => !p.Closed).Select(p => new OpenHats
    {
        PersonId = p.Id,
        KeepsDiary = (p.Parts & OfficeParts.Diary) != OfficeParts.None,
        InstructorId = p.InstructorId,
        PupilId = p.PupilId,
    });
}

/// <summary>The hats of somebody who signs in, as another question asks for them.</summary>
internal sealed class OpenHats
{
    public Guid PersonId { get; init; }

    public bool KeepsDiary { get; init; }

    public Guid? InstructorId { get; init; }

    public Guid? PupilId { get; init; }
}
