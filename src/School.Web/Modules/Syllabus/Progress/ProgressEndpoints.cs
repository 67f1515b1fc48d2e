using System.Text;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Progress;

internal static class ProgressEndpoints
{
    public static void MapProgress(this IEndpointRouteBuilder app) =>
        app.MapApi("pupils").MapGet("{id:guid}/progress", GetAsync).Needs(Permission.ReadProgress).OfPupil(Sight.ByReason).WithName("GetProgress")
            .WithSummary("How far a pupil has come: level and moves of every skill, lessons, private practice; to somebody beside the pupil who may see it, without words and places. As a table (RFC 4180) with ?format=csv or Accept: text/csv.")
            .Produces<ProgressJson>(200, "application/json", Csv.ContentType).ProducesProblem(400).ProducesProblem(404);

    private static async Task<IResult> GetAsync(Guid id, [OneOf("json", "csv")] string? format, HttpContext context, ProgressReader reader, BesideBook beside, Viewer viewer, CancellationToken cancel)
    {
        if (format is not (null or "json" or "csv"))
        {
            return Refusal.Invalid("format", "Ask for json or csv.").ToProblem();
        }

        var progress = await reader.FindAsync(id, withWriters: true, cancel)
            ?? (await beside.FindAsync(viewer, id, cancel) is { } allowed ? await reader.FindAsync(allowed, cancel) : null);
        if (progress is null)
        {
            return Refusal.NotFound("pupil").ToProblem();
        }

        context.Response.Headers.Vary = "Accept";
        return format == "csv" || (format is null && WantsCsv(context.Request))
            ? Results.Text(ProgressCsv.Of(progress), Csv.ContentType, Encoding.UTF8)
            : Results.Ok(ProgressJson.Of(progress));
    }

    // The first that we can give wins; nobody who asks for a table lists JSON before it.
    private static bool WantsCsv(HttpRequest request) =>
        request.GetTypedHeaders().Accept.OrderByDescending(type => type.Quality ?? 1).Select(type => type.MediaType.Value)
            .FirstOrDefault(type => type is Csv.ContentType or "application/json" or "*/*" or "application/*") == Csv.ContentType;
}
