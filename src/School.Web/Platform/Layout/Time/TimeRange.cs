namespace School.Web.Platform.Layout.Time;

/// <summary>How much time a page may show, such as a day or a week; draw some with <c>_TimeRanges</c>.</summary>
internal sealed record TimeRange(string Href, string Words, bool Here);
