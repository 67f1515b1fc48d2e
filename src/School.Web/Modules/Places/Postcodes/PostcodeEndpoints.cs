using Microsoft.AspNetCore.OpenApi;
using Microsoft.EntityFrameworkCore;
using Microsoft.OpenApi;
using NodaTime;
using School.Core;
using School.Core.Travel;
using School.Web.Modules.Places.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Places.Postcodes;

/// <summary>A postcode and where it lies: the middle of its addresses, or only roughly where quality is 60.</summary>
internal sealed record PostcodeView(string Postcode, double Latitude, double Longitude, int Quality, Guid? AreaId);

/// <summary>The file that the postcodes came from.</summary>
internal sealed record PostcodeSetView(string Name, Instant LoadedAt, int Postcodes, int Roughly, int LeftOut, int Districts)
{
    public static PostcodeSetView Of(PostcodeSet set) => new(set.Name, set.LoadedAt, set.Postcodes, set.Roughly, set.LeftOut, set.Districts);
}

internal static class PostcodeEndpoints
{
    public const string Path = $"{ApiSetup.Prefix}/postcodes";

    public static void MapPostcodes(this IEndpointRouteBuilder app)
    {
        var postcodes = app.MapApi("postcodes");
        postcodes.MapGet("{postcode}", FindAsync).Needs(Permission.SeeLessons).WithName("FindPostcode").WithSummary("Where a postcode lies, by the file that the school loaded.")
            .Produces<PostcodeView>().ProducesProblem(400).ProducesProblem(404);
        postcodes.MapGet("", SetAsync).Needs(Permission.ManageSchool).WithName("GetPostcodes").WithSummary("Which postcode file was loaded last.")
            .Produces<PostcodeSetView>().ProducesProblem(404);
        postcodes.MapPost("", LoadAsync).Needs(Permission.ManageSchool).WithName("LoadPostcodes")
            .WithSummary("Takes all postcodes from a file, sent as it is: the zip of Code-Point Open or one CSV file of it, at most 200 MB. All or nothing.")
            .AddOpenApiOperationTransformer(TakesAFile).Produces<PostcodeSetView>().ProducesProblem(413).ProducesProblem(422);
    }

    private static async Task<IResult> FindAsync([AtMost(Postcode.LongestTyped)] string postcode, PlaceFinder places, CancellationToken cancel)
    {
        if (!Postcode.TryParse(postcode, out var read, out var problem))
        {
            return Refusal.Invalid("postcode", problem.Sentence).ToProblem();
        }

        return await places.PostcodeAsync(read, cancel) is { } found
            ? Results.Ok(new PostcodeView(found.Postcode, found.At.Latitude, found.At.Longitude, found.Quality, await places.AreaOfAsync(found.Postcode, cancel)))
            : Refusal.NotFound("postcode").ToProblem();
    }

    // Not by Accepts: a caller who may not do this would hear of the wrong kind of content first.
    private static Task TakesAFile(OpenApiOperation operation, OpenApiOperationTransformerContext context, CancellationToken cancel)
    {
        var file = new OpenApiMediaType { Schema = new OpenApiSchema { Type = JsonSchemaType.String, Format = "binary" } };
        operation.RequestBody = new OpenApiRequestBody { Required = true, Content = new Dictionary<string, OpenApiMediaType> { ["application/octet-stream"] = file } };
        return Task.CompletedTask;
    }

    private static async Task<IResult> SetAsync(SchoolDb db, CancellationToken cancel) =>
        await db.Set<PostcodeSet>().AsNoTracking().SingleOrDefaultAsync(cancel) is { } set ? Results.Ok(PostcodeSetView.Of(set)) : Refusal.NotFound("postcode file").ToProblem();

    private static async Task<IResult> LoadAsync(HttpRequest request, LoadPostcodes load, Viewer viewer, CancellationToken cancel)
    {
        await using var kept = KeptUpload.New();
        await request.Body.CopyToAsync(kept, cancel);
        await kept.FlushAsync(cancel);
        return (await load.RunAsync(viewer, new(new(kept.Name, "upload")), cancel)).ToResult(set => Results.Ok(PostcodeSetView.Of(set)));
    }
}

/// <summary>A file of the length of a request.</summary>
internal static class KeptUpload
{
    public static FileStream New()
    {
        var options = new FileStreamOptions
        {
            Mode = FileMode.CreateNew,
            Access = FileAccess.ReadWrite,
            Share = FileShare.Read | FileShare.Delete,
            Options = FileOptions.DeleteOnClose | FileOptions.Asynchronous,
        };
        if (!OperatingSystem.IsWindows())
        {
            options.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite;
        }

        return new(Path.Combine(Path.GetTempPath(), $"school-upload-{Guid.NewGuid():N}"), options);
    }
}
