using System.Text;

namespace School.Core.People;

/// <summary>
/// The name by which somebody signs in: their e-mail address, or one that they chose where others have the same address. Compared as folded here,
/// so that what looks the same is the same however it was typed.
/// </summary>
/// <remarks>
/// A chosen name is of a small alphabet on purpose: of letters of every script there are thousands of pairs that nobody tells apart (Unicode
/// Technical Standard #39, section 4), of these a handful, which <see cref="Look"/> makes one. An address has an @ and a chosen name has none, so
/// neither can be taken for the other.
/// </remarks>
public static class SignInName
{
    /// <summary>Least letters of a chosen name.</summary>
    public const int Shortest = 3;

    /// <summary>Most letters of a chosen name.</summary>
    public const int Longest = 40;

    /// <summary>
    /// Normal form KC and capitals: Unicode Standard Annex #31, UAX31-R4 and R5. Simple case mapping will do, because a name that could be taken has
    /// no letter of which full folding makes two.
    /// </summary>
    public static string Fold(string typed)
    {
        ArgumentNullException.ThrowIfNull(typed);
        return typed.Normalize(NormalizationForm.FormKC).ToUpperInvariant();
    }

    /// <summary>
    /// What a folded name looks like: 0 as O, 1 and I as L, M as RN, W as VV, hyphen and underscore as a dot. The first are the pairs within the
    /// alphabet of names that the confusables of UTS #39 list (from memory), told as capitals because names are compared without case; that two
    /// v are read as a w, and that nobody remembers which sign stood between two words, is common practice, no source.
    /// </summary>
    public static string Look(string folded)
    {
        ArgumentNullException.ThrowIfNull(folded);
        return folded.Replace('0', 'O').Replace('1', 'L').Replace('I', 'L').Replace('-', '.').Replace('_', '.')
            .Replace("M", "RN", StringComparison.Ordinal).Replace("W", "VV", StringComparison.Ordinal);
    }

    /// <summary>What is wrong with a name that somebody would choose, in a sentence; null when nothing is.</summary>
    public static string? Problem(string? typed)
    {
        var name = (typed ?? "").Trim();
        return name.Length == 0 ? "Choose the name that you will sign in with."
            : name.Length is < Shortest or > Longest ? $"A name to sign in with has {Shortest} to {Longest} characters."
            : !name.All(IsOfNames) ? "Use the letters a to z, figures, dots, hyphens and underscores only: other letters can look like these and be mistaken for them."
            : !char.IsAsciiLetter(name[0]) ? "Begin the name with a letter."
            : null;
    }

    /// <summary>A name to begin from: what somebody is called, in the alphabet of names; empty where nothing of it is left.</summary>
    public static string Suggest(string called)
    {
        ArgumentNullException.ThrowIfNull(called);
        var name = new StringBuilder();
        foreach (var letter in called.Normalize(NormalizationForm.FormKD).ToLowerInvariant())
        {
            if (char.IsAsciiLetterOrDigit(letter))
            {
                name.Append(letter);
            }
            else if (letter == ' ' && name.Length > 0 && name[^1] != '.')
            {
                name.Append('.');
            }
        }

        var text = name.ToString().Trim('.');
        text = text[..Math.Min(text.Length, Longest)].Trim('.');
        return Problem(text) is null ? text : "";
    }

    private static bool IsOfNames(char letter) => char.IsAsciiLetterOrDigit(letter) || letter is '.' or '-' or '_';
}
