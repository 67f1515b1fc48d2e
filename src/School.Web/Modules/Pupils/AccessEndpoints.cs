using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>Why somebody needs to see a pupil; stands in the audit, so nothing about health.</summary>
internal sealed record AccessInput([property: Needed, AtMost(PupilAccess.LongestReason)] string Reason);

/// <summary>Until when it is open.</summary>
internal sealed record AccessView(Instant Until);

/// <summary>Who opened whom, when and why. NumberOnly: the telephone number on a list of pupils to ring, and nothing else.</summary>
internal sealed record OpenedView(Guid Id, Guid PupilId, Guid PersonId, string ByName, string Reason, Instant At, Instant Until, bool NumberOnly)
{
    public static OpenedView Of(PupilAccess row) => new(row.Id, row.PupilId, row.PersonId, row.ByName, row.Reason, row.At, row.Until, row.NumberOn is not null);
}

internal static class AccessEndpoints
{
    public static void MapAccess(this IEndpointRouteBuilder app)
    {
        var pupils = app.MapApi("pupils");
        pupils.MapPost("{id:guid}/access", OpenAsync).Needs(Permission.SeePupils).WithIdempotency().WithName("OpenPupilByReason")
            .WithSummary("Opens contact, places and record of somebody else's pupil until midnight where the school is; the reason stands in the audit. 422 reason_not_needed, too_many_by_reason.")
            .Produces<AccessView>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
        pupils.MapGet("{id:guid}/access/{accessId:guid}", GetAsync).Needs(Permission.SeePupils).WithName("GetOpenedByReason")
            .WithSummary("One opening by a reason: one's own, that of a pupil of one's own, or for people anybody's.").Produces<OpenedView>().ProducesProblem(404);
        pupils.MapGet("access", ListAsync).Needs(Permission.SeePupils).OfPupil(Sight.Everything, "pupilId").WithName("ListOpenedByReason")
            .WithSummary("Who of the staff opened whom by a reason, newest first: of everybody for people, of those who usually learn with them for an instructor. `pupilId` keeps to one pupil.")
            .Produces<Page<OpenedView>>().ProducesProblem(400).ProducesProblem(404);
    }

    private static async Task<IResult> OpenAsync(Guid id, AccessInput input, OpenByReason open, Viewer viewer, CancellationToken cancel) =>
        (await open.RunAsync(viewer, id, input, cancel)).ToResult(row => Results.Created($"{ApiSetup.Prefix}/pupils/{id}/access/{row.Id}", new AccessView(row.Until)));

    private static async Task<IResult> GetAsync(Guid id, Guid accessId, SchoolDb db, OwnPupils own, Viewer viewer, CancellationToken cancel) =>
        await db.Set<PupilAccess>().AsNoTracking().SingleOrDefaultAsync(a => a.Id == accessId && a.PupilId == id, cancel) is { } row
            && (viewer.KeepsPupils || row.PersonId == viewer.PersonId || await own.OfAsync(viewer, id, cancel) == Sight.Everything)
            ? Results.Ok(OpenedView.Of(row))
            : Refusal.NotFound("opening").ToProblem();

    private static async Task<IResult> ListAsync(Guid? pupilId, SchoolDb db, OpenedBook opened, Viewer viewer, int? limit, string? cursor, CancellationToken cancel) =>
        pupilId is { } id && !await db.Set<Pupil>().VisibleTo(viewer).AnyAsync(p => p.Id == id, cancel)
            ? Refusal.NotFound("pupil").ToProblem()
            : (await opened.ReadableBy(viewer, pupilId).PageNewestAsync(limit, cursor, row => row.Id, OpenedView.Of, cancel)).ToResult();
}
