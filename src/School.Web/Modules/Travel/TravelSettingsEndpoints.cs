using System.Text.Json.Serialization;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Travel;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;

namespace School.Web.Modules.Travel;

/// <summary>Where driving times come from now. While the routing server does not answer, those that it has not told before are estimated.</summary>
internal sealed record TravelStatusJson(TravelSource Source, bool FallingBack, Instant? Since, string? Reason, string? MapAttribution)
{
    public static TravelStatusJson Of(TravelStatus status) => new(
        status.Source, status.FallingBack, status.FallingBackSince, status.FallingBack ? status.Reason : null,
        status.Attribution.Length > 0 ? status.Attribution : null);
}

/// <summary>Road miles per straight-line mile, and the usual speed for each hour of leaving, 24 numbers each. Status is only read: sent back, it is passed over.</summary>
[BoundedLike(typeof(StraightLineSettings))]
internal sealed record TravelSettingsView(
    double DetourFactor, IReadOnlyList<double> WeekdayMph, IReadOnlyList<double> SaturdayMph, IReadOnlyList<double> SundayMph,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] TravelStatusJson? Status = null)
{
    public static TravelSettingsView Of(TravelSettings row, TravelStatusJson? status) => new(row.DetourFactor, row.WeekdayMph, row.SaturdayMph, row.SundayMph, status);

    public StraightLineSettings ToSettings() => new()
    {
        DetourFactor = DetourFactor,
        WeekdayMph = WeekdayMph ?? [],
        SaturdayMph = SaturdayMph ?? [],
        SundayMph = SundayMph ?? [],
    };
}

internal static class TravelSettingsEndpoints
{
    public static void MapTravelSettings(this IEndpointRouteBuilder app)
    {
        var settings = app.MapApi("travel").MapGroup("settings");
        settings.MapGet("", GetAsync).Needs(Permission.ManageSchool).WithName("GetTravelSettings")
            .WithSummary("How driving times are estimated, and whether the routing server answers.").Produces<TravelSettingsView>();
        settings.MapPut("", ChangeAsync).Needs(Permission.ManageSchool).WithIdempotency().WithName("ChangeTravelSettings")
            .WithSummary("Changes how driving times are estimated; wants If-Match.")
            .Produces<TravelSettingsView>().ProducesProblem(400).ProducesProblem(412).ProducesProblem(428);
    }

    private static async Task<IResult> GetAsync(HttpContext context, SchoolDb db, TravelModel travel, CancellationToken cancel)
    {
        var row = await ReadAsync(db, cancel);
        return ETags.OkWithMore(context, row.Version, TravelSettingsView.Of(row, TravelStatusJson.Of(await travel.StatusAsync(cancel))));
    }

    private static async Task<IResult> ChangeAsync(TravelSettingsView input, HttpContext context, ChangeTravelSettings change, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context)
        ?? (await change.RunAsync(viewer, input.ToSettings(), ETags.Wanted(context), cancel)).ToRow(context, changed => TravelSettingsView.Of(changed, null));

    private static Task<TravelSettings> ReadAsync(SchoolDb db, CancellationToken cancel) => db.Set<TravelSettings>().AsNoTracking().SingleAsync(cancel);
}
