using School.Core.Pupils;
using School.Web.Platform.Access;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>What is seen and asked of a pupil before the wheels turn, and where it is entered.</summary>
internal sealed record BeforeDriving(Guid PupilId, FirstLessonNeeds Needs)
{
    public const string Label = "Before driving";

    /// <summary>"see the driving licence, ask the date of birth"; null where nothing is.</summary>
    public string? ToStaff => Needs.SeenFirst()?.ToStaff;

    /// <summary>What the pupil is asked to bring and to say; null where nothing is.</summary>
    public string? ToPupil => Needs.SeenFirst()?.ToPupil;

    /// <summary>Where whoever teaches enters both.</summary>
    public string Page => $"/pupils/{PupilId}/papers";

    /// <summary>What the link there says.</summary>
    public string Act => Needs.HasFlag(FirstLessonNeeds.Licence) ? "Enter the licence" : "Enter the date of birth";

    /// <summary>Whether somebody may enter it.</summary>
    public static bool MayEnter(Viewer viewer) => viewer.May(Permission.TeachPupils);
}
