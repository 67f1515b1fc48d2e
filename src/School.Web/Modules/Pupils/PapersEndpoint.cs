using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

internal sealed record PapersView(Guid PupilId, LicenceView? Licence, LocalDate? LicenceSeenOn, Guid? LicenceSeenBy, LocalDate? TheoryPassedOn, LocalDate? TheoryEndsOn, LocalDate? LicenceCheckedOn, LocalDate? LicenceCheckDueOn)
{
    public static PapersView Of(Pupil pupil) => new(
        pupil.Id, LicenceView.Of(pupil.SeenLicence()), pupil.LicenceSeenOn, pupil.LicenceSeenBy, pupil.TheoryPassedOn, pupil.TheoryPassedOn is { } passed ? TheoryCertificate.LastDay(passed) : null,
        pupil.LicenceCheckedOn, pupil.LicenceCheckedOn is { } seen ? PupilPapers.LicenceCheckDue(seen) : null);
}

internal static class PapersEndpoint
{
    public static void MapPapers(this IEndpointRouteBuilder app)
    {
        var papers = app.MapApi("pupils").MapGroup("{id:guid}/papers");
        papers.MapGet("", ReadAsync).Needs(Permission.OwnDetails).OfPupil(Sight.Everything).WithName("GetPapers")
            .WithSummary("The licence and who saw it when, when the theory test was passed and its certificate ends, when the driving record was looked at and is due again; with the ETag.")
            .Produces<PapersView>().ProducesProblem(404);
        papers.MapPut("", ChangeAsync).Needs(Permission.TeachPupils).WithIdempotency().WithName("ChangePapers")
            .WithSummary("Enters the day the theory test was passed and the day the driving record was looked at, both at once, the licence where it is sent, and the date of birth where it is still to be asked; wants If-Match.")
            .Produces<PapersView>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(428);
    }

    private static async Task<IResult> ReadAsync(Guid id, HttpContext context, SchoolDb db, Viewer viewer, CancellationToken cancel) =>
        await db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(p => p.Id == id, cancel) is { } pupil
            ? ETags.Ok(context, pupil, PapersView.Of(pupil))
            : Refusal.NotFound("pupil").ToProblem();

    private static async Task<IResult> ChangeAsync(Guid id, PapersInput input, HttpContext context, ChangePapers change, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await change.RunAsync(viewer, id, input, ETags.Wanted(context), cancel)).ToRow(context, PapersView.Of);
}
