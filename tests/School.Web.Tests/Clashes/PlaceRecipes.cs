using System.Globalization;
using System.Net;
using School.Web.Modules.Places.Postcodes;
using School.Web.Platform.Access;
using School.Web.Tests.Diary;
using School.Web.Tests.Host;
using static System.Net.Http.HttpMethod;

namespace School.Web.Tests.Clashes;

internal static class PlaceRecipes
{
    private const string Places = "/api/v1/places";
    private const string Areas = "/api/v1/areas";

    public static IEnumerable<Recipe> All =>
    [
        new("AddPlace", world => Task.FromResult(Act.Api(world.Office, Post, Places, Station(world), etag: null))),
        new("ChangePlace", async world => Act.Api(world.Office, Put, await MadeAsync(world, Places, Station(world)), Station(world))),
        new("RemovePlace", async world => Act.Api(world.Office, Delete, await MadeAsync(world, Places, Station(world)))),
        new("AddArea", world => Task.FromResult(Act.Api(world.Office, Post, Areas, North(world), etag: null))),
        new("ChangeArea", async world => Act.Api(world.Office, Put, await MadeAsync(world, Areas, North(world)), North(world))),
        new("RemoveArea", async world => Act.Api(world.Office, Delete, await MadeAsync(world, Areas, North(world)))),
        new("AddPupilPlace", async world => Act.Api(world.Office, Post, await OfPupilAsync(world), Home(world), etag: null)),
        new("ChangePupilPlace", async world => Act.Api(world.Office, Put, await MadeAsync(world, await OfPupilAsync(world), Home(world)), Home(world))),
        new("RemovePupilPlace", async world => Act.Api(world.Office, Delete, await MadeAsync(world, await OfPupilAsync(world), Home(world)))),
        new("LoadPostcodes", async world =>
        {
            // In the place of a file before it, or the first run would do something else than the others.
            await Load(world, await FileAsync(world)).RunAsync(null);
            return Load(world, await FileAsync(world));
        }),
    ];

    private static async Task<string> FileAsync(World world)
    {
        var path = Path.Combine(Path.GetTempPath(), $"postcodes-{Guid.NewGuid():N}.csv");
        await File.WriteAllTextAsync(path, string.Create(CultureInfo.InvariantCulture, $"PC,PQ,EA,NO\nSE9 9DE,10,542733,{174310 + world.Next()}\n"));
        return path;
    }

    private static Act Load(World world, string path) =>
        Act.Verb<LoadPostcodes, Modules.Places.PostcodeSet>(world.Host, load => load.RunAsync(Viewer.Service, new(new(path, "se.csv")), CancellationToken.None));

    private static async Task<string> OfPupilAsync(World world) => $"/api/v1/pupils/{(await world.PupilAsync()).Id}/places";

    private static async Task<string> MadeAsync(World world, string url, object body)
    {
        using var made = await world.Office.SendJsonAsync(Post, url, body);
        Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        return made.Headers.Location!.ToString();
    }

    private static object Station(World world) => new { kind = "station", at = new { label = $"Station {world.Next()}", latitude = 52.4, longitude = -1.2 } };

    private static object Home(World world) => new { label = $"Home {world.Next()}", latitude = 52.4, longitude = -1.2 };

    private static object North(World world) => new { name = $"North {world.Next()}", districts = new[] { $"LK{world.Next() % 90 + 1}" } };
}
