using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
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

/// <summary>Who opened whom, when and why.</summary>
internal sealed record OpenedView(Guid Id, Guid PupilId, Guid PersonId, string ByName, string Reason, Instant At, Instant Until)
{
    public static OpenedView Of(PupilAccess row) => new(row.Id, row.PupilId, row.PersonId, row.ByName, row.Reason, row.At, row.Until);
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
            .WithSummary("One opening by a reason: one's own, or for people anybody's.").Produces<OpenedView>().ProducesProblem(404);
        pupils.MapGet("access", ListAsync).Needs(Permission.ManagePupils).WithName("ListOpenedByReason")
            .WithSummary("Who of the staff opened whom by a reason, newest first.").Produces<Page<OpenedView>>().ProducesProblem(400);
    }

    private static async Task<IResult> OpenAsync(Guid id, AccessInput input, OpenByReason open, Viewer viewer, CancellationToken cancel) =>
        (await open.RunAsync(viewer, id, input, cancel)).ToResult(row => Results.Created($"{ApiSetup.Prefix}/pupils/{id}/access/{row.Id}", new AccessView(row.Until)));

    private static async Task<IResult> GetAsync(Guid id, Guid accessId, SchoolDb db, Viewer viewer, CancellationToken cancel) =>
        await db.Set<PupilAccess>().AsNoTracking()
            .SingleOrDefaultAsync(a => a.Id == accessId && a.PupilId == id && (viewer.KeepsPupils || a.PersonId == viewer.PersonId), cancel) is { } row
            ? Results.Ok(OpenedView.Of(row))
            : Refusal.NotFound("opening").ToProblem();

    private static async Task<IResult> ListAsync(SchoolDb db, int? limit, string? cursor, CancellationToken cancel) =>
        (await db.Set<PupilAccess>().AsNoTracking().PageNewestAsync(limit, cursor, row => row.Id, OpenedView.Of, cancel)).ToResult();
}
