namespace School.Web.Modules.People.SignIn;

/// <summary>Words by which somebody knows their browser again, from what it says of itself. Only the words are kept.</summary>
internal static class DeviceWords
{
    public const string Unknown = "a browser";

    // The first that fits: most browsers name the ones they came after as well.
    private static readonly (string Sign, string Words)[] Browsers =
    [
        ("Edg", "Edge"), ("OPR/", "Opera"), ("SamsungBrowser", "Samsung Internet"), ("FxiOS", "Firefox"), ("Firefox/", "Firefox"), ("CriOS", "Chrome"),
        ("Chrome/", "Chrome"), ("Safari/", "Safari"),
    ];

    private static readonly (string Sign, string Words)[] Machines =
    [
        ("Android", "Android"), ("iPhone", "an iPhone"), ("iPad", "an iPad"), ("Windows", "Windows"), ("CrOS", "ChromeOS"), ("Mac OS X", "a Mac"), ("Linux", "Linux"),
    ];

    public static string Of(string? userAgent)
    {
        var browser = Find(Browsers, userAgent) ?? Unknown;
        return Find(Machines, userAgent) is { } machine ? $"{browser} on {machine}" : browser;
    }

    private static string? Find((string Sign, string Words)[] signs, string? userAgent) =>
        Array.Find(signs, entry => userAgent?.Contains(entry.Sign, StringComparison.Ordinal) == true).Words;
}
