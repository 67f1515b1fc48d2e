using School.Web.Modules.People;
using School.Web.Modules.Places;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Places.Postcodes;
using School.Web.Modules.Pupils;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Demo;

/// <summary>Where things are in Larkfield: its postcodes, the places that the school knows, its areas, and where some pupils learn and work.</summary>
internal sealed class DemoPlaces(IServiceProvider services)
{
    /// <summary>Lines as the open postcode file of Great Britain has them, for a town that is nobody's.</summary>
    public static string File => Path.Combine(AppContext.BaseDirectory, "Demo", "larkfield-postcodes.csv");

    public static readonly (PlaceKind Kind, Place At)[] Known =
    [
        (PlaceKind.TestCentre, Larkfield.TestCentre), (PlaceKind.Station, Larkfield.Station), (PlaceKind.School, Larkfield.School), (PlaceKind.School, Larkfield.College),
    ];

    public static readonly (string Name, string[] Districts)[] Areas = [("Town", ["LK1"]), ("North side", ["LK2"]), ("Harbour and marsh", ["LK3", "LK4"])];

    public async Task FillSchoolAsync()
    {
        await DemoVerbs.DoAsync<LoadPostcodes, PostcodeSet>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, new(new(File, Path.GetFileName(File))), cancel));
        foreach (var (kind, at) in Known)
        {
            await DemoVerbs.DoAsync<AddPlace, SchoolPlace>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, new(kind, PlaceInput.Of(at)), cancel));
        }

        foreach (var (name, districts) in Areas)
        {
            await DemoVerbs.DoAsync<AddArea, Area>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(Viewer.Service, new(name, districts), cancel));
        }
    }

    /// <summary>Whose areas are which; the third comes everywhere, the only one with an automatic.</summary>
    private static readonly string[][] Served = [["Town", "North side"], ["Town", "Harbour and marsh"], [], ["Harbour and marsh"]];

    public async Task FillInstructorsAsync(IReadOnlyList<Instructor> instructors)
    {
        var known = await DemoVerbs.DoAsync<AreaBook, List<AreaCard>>(services, Viewer.Service, async (book, cancel) => (await book.ListAsync(cancel)).ToList());
        foreach (var (instructor, names) in instructors.Zip(Served))
        {
            await DemoVerbs.DoAsync<ServeAreas, Instructor>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(
                Viewer.Service, instructor.Id, new([.. known.Where(area => names.Contains(area.Name)).Select(area => area.Id)]), null, cancel));
        }
    }

    /// <summary>Each fourth pupil is fetched from elsewhere now and then: their work, or a parent's house.</summary>
    public async Task FillPupilsAsync(IEnumerable<DemoPupil> pupils)
    {
        foreach (var pupil in pupils.Where(p => p.Number % 4 == 0))
        {
            var at = SecondOf(pupil.Number);
            await DemoVerbs.DoAsync<AddPupilPlace, PupilPlace>(services, Viewer.Service, (verb, cancel) => verb.RunAsync(
                Viewer.Service, pupil.Pupil.Id, new(at.Label, at.Address, at.Postcode), cancel));
        }
    }

    /// <summary>The second place of each fourth.</summary>
    public static Place SecondOf(int pupil) =>
        Larkfield.StreetOf((pupil + 11) % Larkfield.StreetCount) is var at ? at with { Label = pupil % 8 == 0 ? "Work" : "My dad’s" } : at;
}
