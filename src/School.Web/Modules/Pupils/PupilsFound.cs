using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Find;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Pupils;

/// <summary>Pupils for the staff, and for whoever stands beside pupils those beside whom they stand.</summary>
internal sealed class PupilsFound(SchoolDb db, FoundPupils pupils, BesideBook beside, InstructorBook instructors) : IFind
{
    public FoundKind Kind => FoundKind.Pupil;

    public async Task<IReadOnlyList<Found>> FindAsync(Viewer viewer, Question question, int most, CancellationToken cancel)
    {
        var found = await pupils.OfAsync(viewer, question, most, cancel);
        var names = found.Count == 0 ? new Dictionary<Guid, string>() : await instructors.NamesAsync(cancel);
        List<Found> all = [.. found.Select(pupil => new Found(Kind, pupil.Id, pupil.Name, Detail(pupil, names), $"/pupils/{pupil.Id}", pupil.Fit))];
        return viewer.May(Permission.SeeBeside) ? [.. all, .. await BesideAsync(viewer, question, most, cancel)] : all;
    }

    private static string Detail(FoundPupil pupil, IReadOnlyDictionary<Guid, string> names)
    {
        var with = pupil.UsualInstructorId is { } id && names.TryGetValue(id, out var name) ? $"with {name}" : "";
        return pupil.Left is { } left ? $"left {ScreenWords.DayAndYear(left)}"
            : pupil.Sight == Sight.Name ? with.Length > 0 ? $"{with}; name only" : "name only"
            : string.Join(", ", new[] { with, pupil.Near }.Where(part => part.Length > 0));
    }

    private async Task<IReadOnlyList<Found>> BesideAsync(Viewer viewer, Question question, int most, CancellationToken cancel)
    {
        var allowed = await beside.ListAsync(viewer, 0, Finder.OfOne, cancel);
        var plain = allowed.Count == 0 ? [] : await db.PlainAsync([.. allowed.Select(pupil => pupil.Name)], cancel);
        return
        [
            .. allowed.Zip(plain).Where(one => question.Begins(one.Second)).Take(most).Select(one => new Found(
                Kind, one.First.PupilId, one.First.Name, one.First.Relation,
                one.First.Lessons ? $"/diary/beside/{one.First.PupilId}" : "/diary/beside", question.FitOf(one.Second))),
        ];
    }
}
