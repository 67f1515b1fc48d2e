using School.Core.Diary.Time;
using School.Web.Platform.Api.Document;

namespace School.Web.Modules.Diary.Settings;

/// <summary>The nations' names in addresses and rows; the ones that GOV.UK uses.</summary>
internal static class NationSlugs
{
    private static readonly Dictionary<string, Nation> BySlug = new(StringComparer.Ordinal)
    {
        ["england-and-wales"] = Nation.EnglandAndWales,
        ["scotland"] = Nation.Scotland,
        ["northern-ireland"] = Nation.NorthernIreland,
    };

    public static IReadOnlyCollection<string> All => BySlug.Keys;

    public static string Of(Nation nation) => BySlug.First(pair => pair.Value == nation).Key;

    public static Nation? Find(string slug) => BySlug.TryGetValue(slug, out var nation) ? nation : null;

    public static bool Knows(string slug) => BySlug.ContainsKey(slug);
}

/// <summary>One of those names.</summary>
internal sealed class NationAttribute() : FormAttribute(OneOf(NationSlugs.All));
