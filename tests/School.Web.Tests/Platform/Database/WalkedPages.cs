using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Database;

/// <summary>Every address that can be opened without an id, by each role that may, one after another, on a school with a working Monday.</summary>
internal static class WalkedPages
{
    public static async Task WalkAsync(SchoolHost host, Func<SweptRoute, bool> which, Func<string, HttpClient, string, Task> act)
    {
        var monday = await LarkfieldMonday.SeedAsync(host, others: 2);
        var routes = (await SweptRoute.AllAsync(host.Services)).Where(route => route.Method == "GET" && !route.HasId && route.Permission is not null && !route.Streams && which(route)).ToList();
        foreach (var role in new[] { Hat.Pupil, Hat.BesidePupil, Hat.Instructor, Hat.Office })
        {
            var person = role switch
            {
                Hat.Pupil => await host.Data.PersonAsync(monday.Idris),
                Hat.Instructor => await host.Data.PersonAsync(monday.Marigold),
                Hat.BesidePupil => await host.Data.BesideAsync("Rowan Bell", (monday.Idris.Id, [SeenOfPupil.Lessons, SeenOfPupil.Progress])),
                Hat.Office => await host.Data.OfficeAsync(),
            };
            using var pages = await host.PagesAsAsync(person);
            using var api = await host.ApiAsAsync(person);
            foreach (var route in routes.Where(route => route.Allows(role)).OrderBy(route => route.Template, StringComparer.Ordinal))
            {
                await act($"{role} {route.Template}", route.IsPage ? pages : api, route.Url());
            }
        }
    }
}
