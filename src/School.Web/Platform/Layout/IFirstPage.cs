using School.Web.Platform.Access;

namespace School.Web.Platform.Layout;

/// <summary>Where somebody begins who has first something to set up; filled by the module on top.</summary>
internal interface IFirstPage
{
    /// <summary>Null where there is nothing of the kind: they begin where they work.</summary>
    Task<string?> ForAsync(Viewer viewer, CancellationToken cancel);
}
