namespace School.Core.Find;

/// <summary>
/// Whether a word is another but for one slip of whoever typed it: a letter wrong, missing or too many, or two neighbours that changed places. Four in five
/// misspelt words are that (F. J. Damerau, A technique for computer detection and correction of spelling errors, CACM 7 (1964) 171; cited from memory).
/// </summary>
public static class OneSlip
{
    /// <summary>The fewest letters of a word in which a slip is forgiven: with fewer it is another word (common practice, no source).</summary>
    public const int ShortestWord = 4;

    /// <summary>Whether one slip leads from one word to the other, or none. Compared by UTF-16 units; never fails.</summary>
    /// <param name="typed">As it was typed.</param>
    /// <param name="meant">As it may have been meant.</param>
    public static bool Leads(ReadOnlySpan<char> typed, ReadOnlySpan<char> meant)
    {
        var same = typed.CommonPrefixLength(meant);
        var left = typed[same..];
        var right = meant[same..];
        while (left.Length > 0 && right.Length > 0 && left[^1] == right[^1])
        {
            left = left[..^1];
            right = right[..^1];
        }

        return left.Length <= 1 && right.Length <= 1
            || (left.Length == 2 && right.Length == 2 && left[0] == right[1] && left[1] == right[0]);
    }
}
