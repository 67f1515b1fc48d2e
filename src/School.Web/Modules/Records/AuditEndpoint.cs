using NodaTime;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;

namespace School.Web.Modules.Records;

internal sealed record AuditView(Guid Id, Instant At, Guid ByPersonId, string ByName, string What, Guid? AboutId, string Words)
{
    public static AuditView Of(AuditEntry entry) => new(entry.Id, entry.At, entry.ByPersonId, entry.ByName, entry.What, entry.AboutId, entry.Words);
}

internal static class AuditEndpoint
{
    public static void MapAudit(this IEndpointRouteBuilder app) =>
        app.MapApi("audit").MapGet("", ListAsync).Needs(Permission.ManageSchool).WithName("ListAudit")
            .WithSummary("Who did or read what, newest first; ?aboutId= keeps to one thing.").Produces<Page<AuditView>>().ProducesProblem(400);

    private static async Task<IResult> ListAsync(SchoolDb db, Guid? aboutId, int? limit, string? cursor, CancellationToken cancel) =>
        (await AuditPages.ReadAsync(db, aboutId, limit, cursor, cancel)).ToResult(page => Results.Ok(new Page<AuditView>([.. page.Items.Select(AuditView.Of)], page.Next)));
}
