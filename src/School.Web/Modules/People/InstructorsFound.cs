using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Find;
using School.Web.Platform.Layout;

namespace School.Web.Modules.People;

/// <summary>Instructors, for whoever has a page about them: the office, and each for themselves.</summary>
internal sealed class InstructorsFound(SchoolDb db) : IFind
{
    public FoundKind Kind => FoundKind.Instructor;

    public async Task<IReadOnlyList<Found>> FindAsync(Viewer viewer, Question question, int most, CancellationToken cancel)
    {
        if (!viewer.May(Permission.SeeInstructors))
        {
            return [];
        }

        var (manages, keeps, own) = (viewer.May(Permission.ManageInstructors), viewer.KeepsDiary, viewer.InstructorId);
        var all = db.Set<Instructor>().Where(i => manages || keeps || i.Id == own);
        var (digits, address, pattern) = (question.Digits, question.Address, question.AddressPattern);
        var rows = digits.Length + address.Length > 0
            ? await Named(all.Where(i => (digits != "" && i.Phone.Contains(digits)) || (address != "" && EF.Functions.ILike(i.Email, pattern, @"\")))).OrderBy(i => i.Left != null).Take(most).ToListAsync(cancel)
            : await Named(all).NamedAsync(question, most, cancel);
        return
        [
            .. rows.Select(row => new Found(
                Kind, row.Id, row.Label, row.Left is { } left ? $"teaches no more, since {ScreenWords.DayAndYear(left)}" : row.More,
                manages ? $"/people/instructors/{row.Id}" : row.Id == own ? "/diary/day" : $"/diary/day?instructorId={row.Id}",
                digits.Length + address.Length > 0 ? Fit.Whole : question.FitOf(row.Plain))),
        ];
    }

    private static IQueryable<NamedRow> Named(IQueryable<Instructor> rows) => rows.Select(i => new NamedRow
    {
        Id = i.Id,
        Label = i.Name,
        Plain = FindSql.Plain(i.Name),
        More = i.Base.Label,
        Left = i.RetiredOn,
    });
}
