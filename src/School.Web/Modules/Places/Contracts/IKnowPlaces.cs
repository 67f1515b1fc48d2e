using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Places.Contracts;

/// <summary>A place that can be chosen by itself.</summary>
/// <param name="Id">Its id.</param>
/// <param name="At">Where it is.</param>
/// <param name="Own">Whether the pupil named it, and not the school.</param>
internal sealed record KnownPlace(Guid Id, Place At, bool Own = false);

/// <summary>Filled by each module that keeps a list of places.</summary>
internal interface IKnowPlaces
{
    /// <summary>Those that may be chosen for a pupil, or for nobody in particular, by who asks.</summary>
    Task<IReadOnlyList<KnownPlace>> ListAsync(Guid? pupilId, Viewer viewer, CancellationToken cancel);
}
