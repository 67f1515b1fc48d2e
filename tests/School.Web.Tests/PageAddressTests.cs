using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;
using School.Tests;
using School.Web.Tests.Host;

namespace School.Web.Tests;

/// <summary>A page is found by its address: the folders and the file in dashes, ids anywhere between, a room of a large module left out.</summary>
public sealed partial class PageAddressTests(TestPostgres postgres)
{
    /// <summary>Folders that sort the files of a module and stand in no address.</summary>
    private static readonly string[] Rooms = ["/diary/day", "/diary/hours", "/diary/search", "/diary/settings"];

    /// <summary>Pages that lie elsewhere than their address says, each with its reason.</summary>
    private static readonly Dictionary<string, string> Elsewhere = new()
    {
        // Addresses that people have kept from before these pages came to the modules that they belong to.
        ["/Diary/Cars/Index"] = "/cars/allocation",
        ["/Office/Attention"] = "/diary/attention",
        ["/Office/Papers"] = "/papers",
        // It finds what every module has.
        ["/Office/Find"] = "/find",
        ["/School/Index"] = "/people/school",
    };

    [Fact]
    public async Task Every_page_lies_where_its_address_says()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pages = Pages(host).ToList();
        Assert.NotEmpty(pages);
        var wrong = string.Join('\n',
            from page in pages
            let expected = Expected(page.Path)
            where page.Address != expected && Elsewhere.GetValueOrDefault(page.Path) != page.Address
            select $"{page.Path} is {page.Address}, not {expected}");
        Assert.True(wrong.Length == 0, wrong);
    }

    [Fact]
    public async Task Exceptions_and_rooms_that_are_no_longer_needed_are_gone()
    {
        await using var host = await SchoolHost.StartAsync(postgres);
        var pages = Pages(host).ToList();
        Assert.Equal([], Elsewhere.Where(page => !pages.Contains((page.Key, page.Value)) || Expected(page.Key) == page.Value));
        Assert.Equal([], Rooms.Where(room => !pages.Any(page => Dashed(page.Path).StartsWith(room + "/", StringComparison.Ordinal))));
    }

    private static IEnumerable<(string Path, string Address)> Pages(SchoolHost host) =>
        from endpoint in host.Services.GetRequiredService<EndpointDataSource>().Endpoints.OfType<RouteEndpoint>()
        let page = endpoint.Metadata.GetMetadata<PageActionDescriptor>()
        where page is not null
        let literal = from part in endpoint.RoutePattern.PathSegments
                      where part.Parts[0] is Microsoft.AspNetCore.Routing.Patterns.RoutePatternLiteralPart
                      select ((Microsoft.AspNetCore.Routing.Patterns.RoutePatternLiteralPart)part.Parts[0]).Content.TrimEnd('.')
        let address = "/" + string.Join('/', literal)
        // A page named Index answers with and without its name.
        where !address.EndsWith("/index", StringComparison.OrdinalIgnoreCase)
        select (page.ViewEnginePath, address);

    private static string Expected(string page)
    {
        var path = Dashed(page);
        var room = Rooms.SingleOrDefault(room => path.StartsWith(room + "/", StringComparison.Ordinal));
        return room is null ? path : room[..room.LastIndexOf('/')] + path[room.Length..];
    }

    private static string Dashed(string page)
    {
        var path = WordStart().Replace(page, "-").ToLowerInvariant();
        return path[(path.LastIndexOf('/') + 1)..] is "index" or "details" ? path[..path.LastIndexOf('/')] : path;
    }

    [GeneratedRegex("(?<=[a-z0-9])(?=[A-Z])")]
    private static partial Regex WordStart();
}
