using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Find;

namespace School.Web.Modules.Places;

/// <summary>Places of the school's list, for whoever keeps it.</summary>
internal sealed class PlacesFound(SchoolDb db) : IFind
{
    public FoundKind Kind => FoundKind.Place;

    public async Task<IReadOnlyList<Found>> FindAsync(Viewer viewer, Question question, int most, CancellationToken cancel) => !viewer.May(Permission.ManageSchool) ? []
        : [.. (await db.Set<SchoolPlace>().Select(p => new NamedRow { Id = p.Id, Label = p.At.Label, Plain = FindSql.Plain(p.At.Label + " " + p.At.Postcode), More = p.At.Address, Left = null })
            .NamedAsync(question, most, cancel)).Select(row => new Found(Kind, row.Id, row.Label, row.More, $"/places?change={row.Id}", question.FitOf(row.Plain)))];
}
