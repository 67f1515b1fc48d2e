using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>
/// A pupil beside whom the viewer stands, and what the pupil lets them see. Only <see cref="BesideBook"/> makes one, anew for each request: whoever
/// is handed it may show what it allows, and nothing else.
/// </summary>
internal sealed record PupilBeside(Guid PupilId, string Name, string Relation, IReadOnlyList<SeenOfPupil> Sees)
{
    public bool Lessons => Sees.Contains(SeenOfPupil.Lessons);

    public bool Progress => Sees.Contains(SeenOfPupil.Progress);

    public bool Money => Sees.Contains(SeenOfPupil.Money);
}

/// <summary>
/// The one row check of whoever stands beside pupils: beside this pupil, and this pupil allows it, at any age. Of a pupil who left nothing is
/// shown, because that pupil cannot take it back any more.
/// </summary>
internal sealed class BesideBook(SchoolDb db)
{
    /// <summary>By name, a part of a longer list.</summary>
    public async Task<IReadOnlyList<PupilBeside>> ListAsync(Viewer viewer, int skip, int most, CancellationToken cancel) => viewer.ContactId is not { } contact ? []
        : await Cards(Rows(contact).OrderBy(row => row.Pupil.Name).ThenBy(row => row.Pupil.Id).Skip(skip).Take(most)).ToListAsync(cancel);

    /// <summary>Null where the viewer does not stand beside this pupil.</summary>
    public async Task<PupilBeside?> FindAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) => viewer.ContactId is not { } contact ? null
        : await Cards(Rows(contact).Where(row => row.Pupil.Id == pupilId)).SingleOrDefaultAsync(cancel);

    /// <summary>The pupils who let the viewer see this of them, to be asked within another question.</summary>
    // Not AsNoTracking: that would hold for the whole question in which it is asked.
    public IQueryable<Guid> WhoLetSee(Viewer viewer, SeenOfPupil part) =>
        from beside in db.Set<BesidePupil>()
        join pupil in db.Set<Pupil>() on beside.PupilId equals pupil.Id
        where viewer.ContactId != null && beside.ContactId == viewer.ContactId && pupil.RetiredOn == null && beside.Sees.Contains(part)
        select pupil.Id;

    private IQueryable<Row> Rows(Guid contact) =>
        from beside in db.Set<BesidePupil>().AsNoTracking()
        join pupil in db.Set<Pupil>() on beside.PupilId equals pupil.Id
        where beside.ContactId == contact && pupil.RetiredOn == null
        select new Row { Beside = beside, Pupil = pupil };

    private static IQueryable<PupilBeside> Cards(IQueryable<Row> rows) => rows.Select(row => new PupilBeside(row.Pupil.Id, row.Pupil.Name, row.Beside.Relation, row.Beside.Sees));

    private sealed class Row
    {
        public required BesidePupil Beside { get; init; }

        public required Pupil Pupil { get; init; }
    }
}
