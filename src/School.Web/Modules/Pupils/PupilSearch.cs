using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Pupils;

internal static class PupilSearch
{
    /// <summary>Those whose name, e-mail or phone holds every word that was typed.</summary>
    public static IQueryable<Pupil> Matching(this IQueryable<Pupil> pupils, string? typed)
    {
        foreach (var word in CleanText.Line(typed).Split(' ', StringSplitOptions.RemoveEmptyEntries).Take(5))
        {
            var pattern = $"%{word.Replace(@"\", @"\\").Replace("%", @"\%").Replace("_", @"\_")}%";
            // People type the 0 that E.164 leaves out.
            var phone = word.All(char.IsAsciiDigit) ? $"%{word.TrimStart('0')}%" : pattern;
            pupils = pupils.Where(p => EF.Functions.ILike(p.Name, pattern, @"\") || EF.Functions.ILike(p.Email, pattern, @"\") || EF.Functions.Like(p.Phone, phone, @"\"));
        }

        return pupils;
    }
}
