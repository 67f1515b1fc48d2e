namespace School.Core.Calendars;

/// <summary>How much a calendar feed tells.</summary>
public enum FeedDetail
{
    /// <summary>Names and places.</summary>
    Full,

    /// <summary>Initials and the area only.</summary>
    Area,

    /// <summary>Nothing but the busy time.</summary>
    Busy,
}
