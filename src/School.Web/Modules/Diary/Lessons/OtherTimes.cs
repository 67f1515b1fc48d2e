using School.Web.Platform.Layout;

namespace School.Web.Modules.Diary.Lessons;

/// <summary>Times offered in place of one that is gone: a form and a button each, so that one press is enough.</summary>
internal sealed record OtherTimes(string Act, string Action, IReadOnlyList<OtherTime> Times)
{
    /// <summary>Where what stands in the way is changed, for who may.</summary>
    public NavItem? Cure { get; init; }
}

/// <summary>One of them; the instructor is named when it is another.</summary>
internal sealed record OtherTime(string When, string? Teacher, IReadOnlyList<KeyValuePair<string, string>> Fields);
