namespace School.Web.Platform.Offline;

/// <summary>A page that the browser fetches now to show later, when there is no signal.</summary>
internal static class FetchAhead
{
    public const string Header = "School-Ahead";

    /// <summary>Whether this page is for later: what is not possible yet may be by the time it is looked at.</summary>
    public static bool IsForLater(this HttpRequest request) => request.Headers.ContainsKey(Header);
}
