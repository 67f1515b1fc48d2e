using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;

namespace School.Web.Modules.Records.Retention;

/// <summary>A kind of thing that is kept for a time. Source says who wants it kept for the least time.</summary>
internal sealed record RetentionKind(
    string Code, string Kind, string Clears, string Reason, string? SourceWords, string? SourceUrl, bool SchoolDecides, int Days, int UsualDays, int LeastDays, int MostDays,
    long Standing, bool StandingEstimated, long DueNow)
{
    public static RetentionKind Of(KindNow now) => new(
        now.Rule.Code, now.Rule.Kind, now.Rule.Clears, now.Rule.Reason, now.Rule.Source?.Words, now.Rule.Source?.Url, now.Rule.SchoolDecides,
        now.Days, now.Rule.Days, now.Rule.Least, now.Rule.Most, now.Standing, now.Estimated, now.Due);
}

internal sealed record RetentionPart(string Part, long Octets);

internal sealed record RetentionOverview(IReadOnlyList<RetentionKind> Kinds, long DatabaseOctets, IReadOnlyList<RetentionPart> Parts);

internal static class RetentionEndpoints
{
    public static void MapRetention(this IEndpointRouteBuilder app)
    {
        var retention = app.MapApi("retention").Needs(Permission.ManageSchool);
        retention.MapGet("", GetAsync).WithName("GetRetention")
            .WithSummary("For how many days things are kept, as far as the school decides it.").Produces<RetentionInput>();
        retention.MapPut("", ChangeAsync).WithIdempotency().WithName("ChangeRetention")
            .WithSummary("Changes for how many days things are kept; wants If-Match. Kinds that are left out go back to the usual time. A time shorter than the law or a dispute needs is `kept_too_short`, with the reasons under `sources`.")
            .Produces<RetentionInput>().ProducesProblem(400).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
        retention.MapGet("kinds", KindsAsync).WithName("ListRetentionKinds")
            .WithSummary("Every kind of thing that is kept for a time: how long, why, how many there are, how many the next run clears, and what room the database takes.")
            .Produces<RetentionOverview>();
    }

    private static async Task<IResult> GetAsync(HttpContext context, SchoolDb db, RetentionPeriods periods, CancellationToken cancel)
    {
        var row = await db.Set<RetentionSettings>().AsNoTracking().SingleAsync(cancel);
        return ETags.Ok(context, row, Shape(periods, row));
    }

    private static async Task<IResult> ChangeAsync(
        RetentionInput body, HttpContext context, ChangeRetention change, RetentionPeriods periods, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await change.RunAsync(viewer, body, ETags.Wanted(context), cancel)).ToRow(context, row => Shape(periods, row));

    private static async Task<IResult> KindsAsync(RetentionLook look, CancellationToken cancel)
    {
        var (kinds, _) = await look.KindsAsync(cancel);
        var (all, parts) = await look.SizeAsync(cancel);
        return Results.Ok(new RetentionOverview([.. kinds.Select(RetentionKind.Of)], all, [.. parts.Select(part => new RetentionPart(part.Words, part.Octets))]));
    }

    private static RetentionInput Shape(RetentionPeriods periods, RetentionSettings row) =>
        new([.. periods.Of(row).Where(period => period.Rule.SchoolDecides).Select(period => new RetentionPeriod(period.Rule.Code, period.Days))]);
}
