using Microsoft.EntityFrameworkCore;
using School.Core;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Operations;

namespace School.Web.Modules.People;

/// <summary>The areas that an instructor serves, as a form or the API sends them; none means every place.</summary>
internal sealed record ServedAreasInput([property: Needed, Items(0, ServedAreasInput.Most)] IReadOnlyList<Guid>? AreaIds = null)
{
    public const int Most = 100;
}

/// <summary>Says which areas an instructor serves: the office of anybody, an instructor of themselves.</summary>
internal sealed class ServeAreas(SchoolDb db, AreaBook areas, Audit audit)
{
    public Task<Outcome<Instructor>> RunAsync(Viewer viewer, Guid id, ServedAreasInput input, int? expected, CancellationToken cancel) =>
        db.InTransactionAsync<Instructor>(
            async cancel =>
            {
                if (!viewer.MaySayWhatServes(id))
                {
                    return Refusal.NotFound("instructor");
                }

                // Nobody removes an area meanwhile.
                await db.LockAsync([AreaBook.Lock], cancel);
                var taken = await db.Set<Instructor>().TakeAsync(id, expected, "instructor", cancel);
                if (!taken.Ok)
                {
                    return taken;
                }

                var (row, known) = (taken.Value, await areas.ListAsync(cancel));
                var asked = (input.AreaIds ?? []).ToHashSet();
                var errors = new FieldErrors()
                    .When(input.AreaIds is null, nameof(input.AreaIds), "Name the areas; an empty list means every place.")
                    .When(input.AreaIds?.Count > ServedAreasInput.Most, nameof(input.AreaIds), $"Name at most {ServedAreasInput.Most} areas.")
                    .When(asked.Except(known.Select(area => area.Id)).Any(), nameof(input.AreaIds), "One of these areas is not on the school's list any more. Choose among those that are.");
                if (errors.ToRefusal() is { } invalid)
                {
                    return invalid;
                }

                var served = known.Where(area => asked.Contains(area.Id)).ToList();
                row.Serves = served.ConvertAll(area => area.Id);
                audit.Note(viewer, "instructor.areas", id, served.Count == 0 ? $"{row.Name} serves every place." : $"{row.Name} serves {string.Join(", ", served.Select(area => area.Name))}.");
                return row;
            },
            cancel);
}

/// <summary>Which areas are served, for whoever would remove one.</summary>
internal sealed class ServedAreas(SchoolDb db) : IServeAreas
{
    /// <summary>An id that stands for no area any more would make who named it come nowhere.</summary>
    public static readonly SqlInvariant AreAreas = new(
        "served_areas",
        "each instructor serves areas that the school has",
        """SELECT count(*) AS "Value" FROM people.instructors""",
        """
        SELECT 'instructor ' || i.id || ' serves ' || s.area AS "Value"
        FROM people.instructors i CROSS JOIN LATERAL unnest(i.serves) AS s (area)
        WHERE NOT EXISTS (SELECT FROM places.areas a WHERE a.id = s.area) ORDER BY 1
        """);

    public async Task<IReadOnlyList<AreaServed>> WhoAsync(Guid areaId, CancellationToken cancel) =>
        (await db.Set<Instructor>().Where(i => i.Serves.Contains(areaId)).OrderBy(i => i.Name).Select(i => new { i.Id, i.Name }).ToListAsync(cancel))
            .ConvertAll(i => new AreaServed(i.Name, $"/people/instructors/{i.Id}/areas"));
}

internal static class ServedAreasAccess
{
    public static bool MaySayWhatServes(this Viewer viewer, Guid instructorId) => viewer.KeepsDiary || viewer.InstructorId == instructorId;
}
