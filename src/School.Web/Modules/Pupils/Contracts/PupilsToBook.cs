using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Find;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>A pupil to book for, with where they are usually picked up and the places that they named.</summary>
internal sealed record PupilToBook(Guid Id, string Name, Place PickUp, IReadOnlyList<KnownPlace> Places);

/// <summary>Those whom somebody of the staff most likely books for: an instructor's own pupils, and for the office those who came last.</summary>
internal sealed class PupilsToBook(SchoolDb db, OwnPupils sight, FoundPupils found)
{
    public const int Most = 40;
    private const int MostFound = 12;

    /// <summary>Those who learn now and fit what somebody typed, best first.</summary>
    public async Task<Outcome<IReadOnlyList<PupilToBook>>> FindAsync(Viewer viewer, string typed, CancellationToken cancel)
    {
        var question = await Question.ReadAsync(db, typed, cancel);
        if (!question.Ok)
        {
            return question.Refusal;
        }

        Guid[] ids = [.. (await found.OfAsync(viewer, question.Value, Finder.OfOne, cancel)).Where(p => p.Left is null).Select(p => p.Id)];
        var rows = await ReadAsync(viewer, db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).Where(p => p.RetiredOn == null && ids.Contains(p.Id)), Finder.OfOne, own: false, cancel);
        return rows.OrderBy(p => Array.IndexOf(ids, p.Id)).Take(MostFound).ToList();
    }

    public async Task<IReadOnlyList<PupilToBook>> ListAsync(Viewer viewer, CancellationToken cancel)
    {
        var learning = db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).Where(p => p.RetiredOn == null);
        var likely = viewer.InstructorId is { } teacher
            ? learning.Where(p => p.UsualInstructorId == teacher).OrderBy(p => p.Name).ThenBy(p => p.Id)
            : learning.OrderByDescending(p => p.Id);
        // Who usually learn with the viewer are seen by them.
        return await ReadAsync(viewer, likely, Most, own: viewer.InstructorId is not null, cancel);
    }

    private async Task<List<PupilToBook>> ReadAsync(Viewer viewer, IQueryable<Pupil> wanted, int most, bool own, CancellationToken cancel)
    {
        var rows = await wanted.Take(most).Select(p => new { p.Id, p.Name, p.PickUp }).ToListAsync(cancel);
        if (rows.Count == 0)
        {
            return [];
        }

        var ids = rows.ConvertAll(p => p.Id);
        var places = (await db.Set<PupilPlace>().AsNoTracking().Where(p => ids.Contains(p.PupilId)).OrderBy(p => p.Id).ToListAsync(cancel)).ToLookup(p => p.PupilId);
        var sees = own ? null : await sight.OfAsync(viewer, ids, cancel);
        return rows.ConvertAll(p => sees is not null && sees[p.Id] == Sight.Name ? new PupilToBook(p.Id, p.Name, Place.Unknown, [])
            : new PupilToBook(p.Id, p.Name, p.PickUp, [.. places[p.Id].Select(place => new KnownPlace(place.Id, place.At, Own: true))]));
    }
}
