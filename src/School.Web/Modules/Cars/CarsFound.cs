using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Find;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Cars;

/// <summary>Cars by what they are called, and by their plate however it is spaced.</summary>
internal sealed class CarsFound(SchoolDb db) : IFind
{
    public FoundKind Kind => FoundKind.Car;

    public async Task<IReadOnlyList<Found>> FindAsync(Viewer viewer, Question question, int most, CancellationToken cancel)
    {
        if (!viewer.May(Permission.SeeCars))
        {
            return [];
        }

        var named = db.Set<Car>().Select(c => new NamedRow { Id = c.Id, Label = c.Label, Plain = FindSql.Plain(c.Label), More = c.Plate, Left = c.RetiredOn });
        var plate = question.Compact.ToUpperInvariant();
        var rows = plate.Length == 0 ? [] : await named.Where(c => c.More.Replace(" ", "").Contains(plate)).OrderBy(c => c.Left != null).ThenBy(c => c.More).Take(most).ToListAsync(cancel);
        var byName = await named.NamedAsync(question, most, cancel);
        return
        [
            .. rows.Select(row => Of(row, row.More.Replace(" ", "", StringComparison.Ordinal) == plate ? Fit.Whole : Fit.Start))
                .Concat(byName.Select(row => Of(row, question.FitOf(row.Plain)))).DistinctBy(found => found.Id).Take(most),
        ];
    }

    private Found Of(NamedRow row, Fit fit) => new(
        Kind, row.Id, row.Label, row.Left is { } left ? $"{row.More}, not driven since {ScreenWords.DayAndYear(left)}" : row.More, $"/cars/{row.Id}", fit);
}
