using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Find;

namespace School.Web.Modules.Pupils.Contracts;

/// <summary>A pupil who was looked for.</summary>
/// <param name="Id">Who.</param>
/// <param name="Name">By which they are known.</param>
/// <param name="Fit">How well they fit.</param>
/// <param name="Sight">How much the viewer sees of them.</param>
/// <param name="UsualInstructorId">With whom they learn.</param>
/// <param name="Near">The short name of where they are usually met; empty where the viewer sees the name alone.</param>
/// <param name="Left">When they left; null where the viewer sees the name alone.</param>
internal sealed record FoundPupil(Guid Id, string Name, Fit Fit, Sight Sight, Guid? UsualInstructorId, string Near, LocalDate? Left);

/// <summary>Pupils that the staff look for: by name all of them, by number or address those of whom more than the name is seen.</summary>
internal sealed class FoundPupils(SchoolDb db, OwnPupils own)
{
    private readonly Dictionary<Question, IReadOnlyList<FoundPupil>> _found = [];

    /// <summary>Asked once for one question, however many ask.</summary>
    public async Task<IReadOnlyList<FoundPupil>> OfAsync(Viewer viewer, Question question, int most, CancellationToken cancel)
    {
        if (!viewer.SeesPupils)
        {
            return [];
        }

        if (!_found.TryGetValue(question, out var found))
        {
            _found[question] = found = await AskAsync(viewer, question, Finder.OfOne, cancel);
        }

        return [.. found.Take(most)];
    }

    private async Task<IReadOnlyList<FoundPupil>> AskAsync(Viewer viewer, Question question, int most, CancellationToken cancel)
    {
        var all = db.Set<Pupil>().VisibleTo(viewer);
        var (digits, address) = ($"%{question.Digits}%", question.AddressPattern);
        var reached = question.Digits.Length > 0 ? all.Where(p => EF.Functions.Like(p.Phone, digits))
            : question.Address.Length > 0 ? all.Where(p => EF.Functions.ILike(p.Email, address, @"\"))
            : null;
        if (reached is not null && await own.SeenAsync(viewer, cancel) is { } seen)
        {
            reached = reached.Where(p => seen.Contains(p.Id));
        }

        var rows = reached is null ? await Named(all).NamedAsync(question, most, cancel)
            : await Named(reached).OrderBy(p => p.Left != null).ThenByDescending(p => p.Id).Take(most).ToListAsync(cancel);
        var sees = await own.OfAsync(viewer, [.. rows.Select(row => row.Id)], cancel);
        return
        [
            .. rows.Select(row => sees.GetValueOrDefault(row.Id) is var sight && sight == Sight.Name
                ? new FoundPupil(row.Id, row.Label, question.FitOf(row.Plain), sight, OwnPupils.IsOffice(viewer) ? row.Of : null, "", null)
                : new FoundPupil(row.Id, row.Label, reached is null ? question.FitOf(row.Plain) : Fit.Whole, sight, row.Of, row.More, row.Left)),
        ];
    }

    private static IQueryable<NamedRow> Named(IQueryable<Pupil> rows) => rows.Select(p => new NamedRow
    {
        Id = p.Id,
        Label = p.Name,
        Plain = FindSql.Plain(p.Name),
        Of = p.UsualInstructorId,
        More = p.PickUp.Label,
        Left = p.RetiredOn,
    });
}
