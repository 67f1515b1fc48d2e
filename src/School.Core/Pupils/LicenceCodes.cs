using System.Diagnostics.CodeAnalysis;

namespace School.Core.Pupils;

/// <summary>The codes of field 12 of a licence, and what the common ones say.</summary>
/// <remarks>From reprints of the list on gov.uk; the card and the official list decide.</remarks>
public static class LicenceCodes
{
    /// <summary>Most codes that one licence is taken to carry.</summary>
    public const int Most = 12;

    /// <summary>Most characters of a code.</summary>
    public const int Longest = 6;

    /// <summary>Glasses or contact lenses.</summary>
    public const string Eyesight = "01";

    /// <summary>Automatics only.</summary>
    public const string AutomaticOnly = "78";

    /// <summary>Automatics only, on older licences.</summary>
    public const string AutomaticOnlyBefore = "106";

    private static readonly Dictionary<string, string> Words = new(StringComparer.Ordinal)
    {
        [Eyesight] = "glasses or contact lenses",
        ["02"] = "hearing aid",
        ["10"] = "changed transmission",
        ["15"] = "changed clutch",
        ["20"] = "changed brakes",
        ["25"] = "changed accelerator",
        ["30"] = "brake and accelerator in one",
        ["35"] = "changed layout of controls",
        ["40"] = "changed steering",
        ["42"] = "changed mirrors",
        ["43"] = "changed seat",
        [AutomaticOnly] = "automatics only",
        ["79"] = "as stated in brackets",
        ["101"] = "not for hire or reward",
        [AutomaticOnlyBefore] = "automatics only (older licences)",
    };

    /// <summary>The code without what follows its dot: 01 of 01.06.</summary>
    public static string Main(string code)
    {
        ArgumentNullException.ThrowIfNull(code);
        var dot = code.IndexOf('.', StringComparison.Ordinal);
        return dot < 0 ? code : code[..dot];
    }

    /// <summary>What a code says; only its number where that is not known here.</summary>
    public static string InWords(string code) => Words.TryGetValue(Main(code), out var words) ? $"{code} ({words})" : code;

    /// <summary>Reads a code as it stands on a card: two or three digits, and two more after a dot.</summary>
    public static bool TryParse(string? typed, [NotNullWhen(true)] out string? code)
    {
        code = typed?.Trim() ?? "";
        var main = Main(code);
        var rest = code[main.Length..];
        if (main.Length is 2 or 3 && main.All(char.IsAsciiDigit) && (rest.Length == 0 || (rest.Length == 3 && rest[1..].All(char.IsAsciiDigit))))
        {
            return true;
        }

        code = null;
        return false;
    }
}
