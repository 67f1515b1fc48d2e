using System.Globalization;
using System.Text;

namespace School.Web.Modules.Syllabus.Editing;

internal static class SkillKeys
{
    private const string Nameless = "skill";
    private const int Longest = 50;

    /// <summary>A key made from a name, such as "meeting-traffic", that no skill has or had.</summary>
    public static string New(string name, IReadOnlySet<string> taken)
    {
        var key = new StringBuilder();
        foreach (var letter in name.Normalize(NormalizationForm.FormD).Where(c => CharUnicodeInfo.GetUnicodeCategory(c) != UnicodeCategory.NonSpacingMark).Take(Longest))
        {
            if (char.IsAsciiLetterOrDigit(letter))
            {
                key.Append(char.ToLowerInvariant(letter));
            }
            else if (key.Length > 0 && key[^1] != '-')
            {
                key.Append('-');
            }
        }

        var plain = key.ToString().Trim('-') is { Length: > 0 } made ? made : Nameless;
        return taken.Contains(plain) ? Enumerable.Range(2, taken.Count + 1).Select(n => $"{plain}-{n}").First(next => !taken.Contains(next)) : plain;
    }
}
