using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.RazorPages.Infrastructure;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.Routing.Patterns;
using Microsoft.Extensions.DependencyInjection;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;

namespace School.Web.Tests.Host;

/// <summary>One method of one route of the running service, read from its endpoint table.</summary>
internal sealed record SweptRoute(string Method, RoutePattern Pattern, bool IsPage, Permission? Permission, bool Anonymous, bool Antiforgery)
{
    public string Name => $"{Method} {Template}";

    public string Template => "/" + Pattern.RawText!.Trim('/');

    /// <summary>Whether its answer goes on for as long as its reader stays.</summary>
    public bool Streams { get; private init; }

    public bool IsWrite => Method is not ("GET" or "HEAD" or "*");

    /// <summary>Whether an id stands in the address, so that an unknown one must not be found.</summary>
    public bool HasId => Pattern.Parameters.Any(IsId);

    /// <summary>Whether it reads one thing that belongs to another, so that the same id cannot stand in both places.</summary>
    public bool HasInnerId => Pattern.Parameters.Count(IsId) > 1;

    public static async Task<IReadOnlyList<SweptRoute>> AllAsync(IServiceProvider services)
    {
        var routes = new List<SweptRoute>();
        var pages = services.GetRequiredService<PageLoader>();
        foreach (var endpoint in services.GetServices<EndpointDataSource>().SelectMany(source => source.Endpoints).OfType<RouteEndpoint>())
        {
            if (endpoint.Metadata.GetMetadata<PageActionDescriptor>() is { } page)
            {
                var compiled = await pages.LoadAsync(page, endpoint.Metadata);
                var metadata = new EndpointMetadataCollection([.. endpoint.Metadata, .. compiled.EndpointMetadata ?? []]);
                // A page answers GET without a handler too; what the framework reads as a handler for "PAGE" is a filter.
                var handled = compiled.HandlerMethods.Select(handler => handler.HttpMethod.ToUpperInvariant()).Where(method => method != "PAGE");
                routes.AddRange(handled.Append("GET").Distinct().Select(method => Of(method, endpoint, metadata, isPage: true)));
            }
            else
            {
                var methods = endpoint.Metadata.GetMetadata<IHttpMethodMetadata>()?.HttpMethods ?? ["*"];
                routes.AddRange(methods.Select(method => Of(method, endpoint, endpoint.Metadata, isPage: false)));
            }
        }

        return routes;
    }

    /// <summary>The address with an unknown id, or the given one, and something plain for every other part.</summary>
    public string Url(Guid? id = null)
    {
        var parts = Pattern.PathSegments.Select(segment => string.Concat(segment.Parts.Select(part => part switch
        {
            RoutePatternLiteralPart literal => literal.Content,
            RoutePatternSeparatorPart separator => separator.Content,
            RoutePatternParameterPart parameter when IsId(parameter) => (id ?? RowId.New()).ToString(),
            RoutePatternParameterPart { Name: "status" } => "404",
            RoutePatternParameterPart parameter when parameter.ParameterPolicies.Any(policy => policy.Content == "int") => "1",
            RoutePatternParameterPart { IsOptional: true } => "",
            RoutePatternParameterPart { Name: "date" } => "2026-03-02",
            RoutePatternParameterPart { Name: "key" } => "signals",
            RoutePatternParameterPart { Name: "documentName" } => "v1",
            RoutePatternParameterPart { IsCatchAll: true } => "",
            _ => "nothing-here",
        })));
        return "/" + string.Join('/', parts.Where(part => part.Length > 0));
    }

    /// <summary>Whether somebody with this hat alone may; of the office, with all its parts.</summary>
    public bool Allows(Hat? hat) => Anonymous
        || (hat is { } known && Permission is { } permission
            && (Permissions.Allows(known, permission) || (known == Hat.Office && Permissions.Allows(OfficeParts.All, permission))));

    public bool Allows(Viewer? viewer) => Anonymous || (viewer is not null && Permission is { } permission && viewer.May(permission));

    private static SweptRoute Of(string method, RouteEndpoint endpoint, EndpointMetadataCollection metadata, bool isPage) => new(
        method, endpoint.RoutePattern, isPage, metadata.GetMetadata<NeedsAttribute>()?.Permission, metadata.GetMetadata<IAllowAnonymous>() is not null,
        isPage && metadata.GetMetadata<IgnoreAntiforgeryTokenAttribute>() is null)
    {
        Streams = metadata.GetMetadata<EventStreams>() is not null,
    };

    private static bool IsId(RoutePatternParameterPart parameter) =>
        parameter.ParameterPolicies.Any(policy => policy.Content == "guid");
}
