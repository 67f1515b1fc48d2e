using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Pupils;

internal static class PupilSearch
{
    /// <summary>Those whose name, e-mail or phone holds every word that was typed; of whom only the name is seen, the name.</summary>
    /// <param name="pupils">Among these.</param>
    /// <param name="typed">What was typed.</param>
    /// <param name="seen">Of whom more than the name is seen; null for all.</param>
    public static IQueryable<Pupil> Matching(this IQueryable<Pupil> pupils, string? typed, IQueryable<Guid>? seen)
    {
        foreach (var word in CleanText.Line(typed).Split(' ', StringSplitOptions.RemoveEmptyEntries).Take(5))
        {
            var pattern = $"%{word.Replace(@"\", @"\\").Replace("%", @"\%").Replace("_", @"\_")}%";
            // People type the 0 that E.164 leaves out.
            var phone = word.All(char.IsAsciiDigit) ? $"%{word.TrimStart('0')}%" : pattern;
            pupils = seen is null
                ? pupils.Where(p => EF.Functions.ILike(p.Name, pattern, @"\") || EF.Functions.ILike(p.Email, pattern, @"\") || EF.Functions.Like(p.Phone, phone, @"\"))
                : pupils.Where(p => EF.Functions.ILike(p.Name, pattern, @"\")
                    || (seen.Contains(p.Id) && (EF.Functions.ILike(p.Email, pattern, @"\") || EF.Functions.Like(p.Phone, phone, @"\"))));
        }

        return pupils;
    }
}
