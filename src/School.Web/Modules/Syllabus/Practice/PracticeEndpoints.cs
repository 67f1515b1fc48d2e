using NodaTime;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus.Practice;

/// <summary>A drive between lessons. If-Match of a change is its version in quotation marks.</summary>
internal sealed record PracticeJson(
    Guid Id, LocalDate On, int Minutes, IReadOnlyList<PracticeCondition> Conditions, string Supervisor, IReadOnlyList<string> Skills, int Edition, string LoggedBy, int Version)
{
    public static PracticeJson Of(PracticeCard drive) => new(
        drive.Id, drive.On, drive.Minutes, drive.Conditions, drive.Supervisor, drive.Skills, drive.Edition, drive.LoggedBy, drive.Version);

    public static PracticeJson Of(PrivatePractice row) => Of(PracticeBook.Card(row));
}

internal static class PracticeEndpoints
{
    public static void MapPractice(this IEndpointRouteBuilder app)
    {
        var practice = app.MapApi("pupils/{id:guid}/practice").WithTags("pupils");
        practice.MapGet("", ListAsync).Needs(Permission.SeeLearning).OfPupil(Sight.ByReason).WithName("ListPractice")
            .WithSummary("The pupil's drives between lessons, earliest first.").Produces<Page<PracticeJson>>().ProducesProblem(400).ProducesProblem(404);
        practice.MapGet("{practiceId:guid}", GetAsync).Needs(Permission.SeeLearning).OfPupil(Sight.ByReason).WithName("GetPractice")
            .WithSummary("One drive between lessons, with its ETag.").Produces<PracticeJson>().ProducesProblem(404);
        practice.MapPost("", AddAsync).Needs(Permission.LogPractice).WithIdempotency().WithName("AddPractice")
            .WithSummary("Logs a drive between lessons, by the pupil or the staff for them.")
            .Produces<PracticeJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
        practice.MapPut("{practiceId:guid}", ChangeAsync).Needs(Permission.LogPractice).WithIdempotency().WithName("ChangePractice")
            .WithSummary("Changes a logged drive; wants If-Match with its version.")
            .Produces<PracticeJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
        practice.MapDelete("{practiceId:guid}", RemoveAsync).Needs(Permission.LogPractice).WithIdempotency().WithName("RemovePractice")
            .WithSummary("Removes a logged drive.").Produces(204).ProducesProblem(404).ProducesProblem(412);
    }

    private static async Task<IResult> ListAsync(Guid id, int? limit, string? cursor, PupilBook pupils, PracticeBook book, Viewer viewer, CancellationToken cancel) =>
        await pupils.FindAsync(id, viewer, cancel) is null
            ? Refusal.NotFound("pupil").ToProblem()
            : (await book.OfPupilAsync(id, cancel)).Select(PracticeJson.Of).ToList().PageOf(limit, cursor, drive => drive.Id.ToString()).ToResult();

    private static async Task<IResult> GetAsync(
        Guid id, Guid practiceId, HttpContext context, PupilBook pupils, PracticeBook book, Viewer viewer, CancellationToken cancel) =>
        await pupils.FindAsync(id, viewer, cancel) is not null && (await book.OfPupilAsync(id, cancel)).FirstOrDefault(drive => drive.Id == practiceId) is { } drive
            ? ETags.Ok(context, drive.Version, PracticeJson.Of(drive))
            : Refusal.NotFound("drive").ToProblem();

    private static async Task<IResult> AddAsync(Guid id, PracticeInput input, HttpContext context, AddPractice add, Viewer viewer, CancellationToken cancel) =>
        (await add.RunAsync(viewer, id, new(input), cancel)).ToResult(made => ETags.Created(context, made, $"{ApiSetup.Prefix}/pupils/{id}/practice/{made.Id}", PracticeJson.Of(made)));

    private static async Task<IResult> ChangeAsync(Guid id, Guid practiceId, PracticeInput input, HttpContext context, ChangePractice change, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await change.RunAsync(viewer, id, practiceId, input, ETags.Wanted(context), cancel)).ToRow(context, PracticeJson.Of);

    private static async Task<IResult> RemoveAsync(Guid id, Guid practiceId, HttpContext context, RemovePractice remove, Viewer viewer, CancellationToken cancel) =>
        (await remove.RunAsync(viewer, id, practiceId, ETags.Wanted(context), cancel)).ToResult(_ => Results.NoContent());
}
