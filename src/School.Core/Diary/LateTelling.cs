namespace School.Core.Diary;

/// <summary>When a pupil is told by itself that the instructor will be late. Once for a lesson, and only where the drive is known.</summary>
public enum LateTelling
{
    /// <summary>Only when somebody presses the button.</summary>
    Never,

    /// <summary>When the instructor said that they left for it, and that was too late.</summary>
    OnTheWay,

    /// <summary>Also when they have not said that they left, and leaving now would be too late.</summary>
    Always,
}
