using Microsoft.EntityFrameworkCore;
using School.Core;
using School.Core.Travel;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Places;

/// <summary>An area as a form or the API sends it.</summary>
internal sealed record AreaInput([property: Needed, AtMost(Area.LongestName)] string? Name = null, [property: Needed, Items(1, Area.MostDistricts), AtMost(PostcodeDistrict.LongestTyped)] IReadOnlyList<string>? Districts = null)
{
    public (string Name, IReadOnlyList<string> Districts) Read(FieldErrors errors)
    {
        var name = errors.ReadLine(nameof(Name), Name, Area.LongestName, "Enter a name, such as North of the river.");
        var found = new SortedSet<PostcodeDistrict>();
        foreach (var typed in Districts ?? [])
        {
            if (PostcodeDistrict.TryParse(typed, out var district, out var problem))
            {
                found.Add(district);
            }
            else
            {
                errors.Add(nameof(Districts), $"“{(typed?.Length > 20 ? typed[..20] + "…" : typed)}”: {problem.Sentence}");
            }
        }

        errors.When(Districts is not { Count: > 0 }, nameof(Districts), "Name at least one postcode district, such as LK1.");
        errors.When(found.Count > Area.MostDistricts, nameof(Districts), $"An area has at most {Area.MostDistricts} districts.");
        return (name, [.. found.Select(district => district.Text)]);
    }

    /// <summary>Which of the districts another area has already.</summary>
    public static async Task CheckFreeAsync(SchoolDb db, IReadOnlyList<string> districts, Guid? own, FieldErrors errors, CancellationToken cancel)
    {
        var taken = await db.Set<AreaDistrict>().AsNoTracking().Where(d => districts.Contains(d.District) && d.AreaId != own)
            .Join(db.Set<Area>(), d => d.AreaId, a => a.Id, (d, a) => new { d.District, a.Name }).OrderBy(t => t.District).ToListAsync(cancel);
        foreach (var one in taken)
        {
            errors.Add(nameof(Districts), $"{one.District} lies in the area {one.Name}. Take it out there first: a place lies in one area at most.");
        }
    }
}

/// <summary>Makes an area of some districts.</summary>
internal sealed class AddArea(SchoolDb db, Audit audit)
{
    public Task<Outcome<Area>> RunAsync(Viewer viewer, AreaInput input, CancellationToken cancel) => db.InTransactionAsync<Area>(async cancel =>
    {
        await db.LockAsync([AreaBook.Lock], cancel);
        var errors = new FieldErrors();
        var (name, districts) = input.Read(errors);
        await AreaInput.CheckFreeAsync(db, districts, null, errors, cancel);
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var area = new Area { Name = name };
        area.Districts.AddRange(districts.Select(district => new AreaDistrict { District = district, AreaId = area.Id }));
        db.Add(area);
        audit.Note(viewer, "area.add", area.Id, $"Added the area {name} ({string.Join(", ", districts)}).");
        return area;
    }, cancel);
}

/// <summary>Gives an area another name or other districts.</summary>
internal sealed class ChangeArea(SchoolDb db, Audit audit)
{
    public Task<Outcome<Area>> RunAsync(Viewer viewer, Guid id, AreaInput input, int? expected, CancellationToken cancel) => db.InTransactionAsync<Area>(async cancel =>
    {
        await db.LockAsync([AreaBook.Lock], cancel);
        var taken = await db.Set<Area>().Include(a => a.Districts).TakeAsync(id, expected, "area", cancel);
        if (!taken.Ok)
        {
            return taken;
        }

        var (area, errors) = (taken.Value, new FieldErrors());
        var (name, districts) = input.Read(errors);
        await AreaInput.CheckFreeAsync(db, districts, id, errors, cancel);
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        area.Name = name;
        area.Districts.RemoveAll(d => !districts.Contains(d.District));
        area.Districts.AddRange(districts.Except(area.Districts.Select(d => d.District).ToList()).Select(district => new AreaDistrict { District = district, AreaId = id }));
        area.Touch();
        audit.Note(viewer, "area.change", id, $"Changed the area {name} ({string.Join(", ", districts)}).");
        return area;
    }, cancel);
}

/// <summary>Takes an area away that nobody serves; its districts are then in none.</summary>
internal sealed class RemoveArea(SchoolDb db, IEnumerable<IServeAreas> serving, Audit audit)
{
    public Task<Outcome<Area>> RunAsync(Viewer viewer, Guid id, int? expected, CancellationToken cancel) => db.InTransactionAsync<Area>(async cancel =>
    {
        await db.LockAsync([AreaBook.Lock], cancel);
        var taken = await db.Set<Area>().TakeAsync(id, expected, "area", cancel);
        if (taken.Ok)
        {
            foreach (var who in serving)
            {
                // Who named this area alone would else be taken to come everywhere.
                if (await who.WhoAsync(id, cancel) is { Count: > 0 } served)
                {
                    return Refusal.Conflict("area_served", $"{taken.Value.Name} is an area of {string.Join(", ", served.Select(one => one.Name))}. Take it out of what they serve first, on their pages.")
                        .CuredOn(served[0].Page);
                }
            }

            db.Remove(taken.Value);
            audit.Note(viewer, "area.remove", null, $"Removed the area {taken.Value.Name}.");
        }

        return taken;
    }, cancel);
}
