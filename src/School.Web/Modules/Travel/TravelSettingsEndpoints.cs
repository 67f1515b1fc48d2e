using Microsoft.EntityFrameworkCore;
using School.Core.Travel;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;

namespace School.Web.Modules.Travel;

/// <summary>Road miles per straight-line mile, and the usual speed for each hour of leaving, 24 numbers each.</summary>
internal sealed record TravelSettingsView(double DetourFactor, IReadOnlyList<double> WeekdayMph, IReadOnlyList<double> SaturdayMph, IReadOnlyList<double> SundayMph)
{
    public static TravelSettingsView Of(TravelSettings row) => new(row.DetourFactor, row.WeekdayMph, row.SaturdayMph, row.SundayMph);

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
        settings.MapGet("", GetAsync).Needs(Permission.ManageSchool).WithName("GetTravelSettings").WithSummary("How driving times are estimated.")
            .Produces<TravelSettingsView>();
        settings.MapPut("", ChangeAsync).Needs(Permission.ManageSchool).WithIdempotency().WithName("ChangeTravelSettings")
            .WithSummary("Changes how driving times are estimated; wants If-Match.")
            .Produces<TravelSettingsView>().ProducesProblem(400).ProducesProblem(412).ProducesProblem(428);
    }

    private static async Task<IResult> GetAsync(HttpContext context, SchoolDb db, CancellationToken cancel)
    {
        var row = await ReadAsync(db, cancel);
        return ETags.Ok(context, row, TravelSettingsView.Of(row));
    }

    private static async Task<IResult> ChangeAsync(TravelSettingsView input, HttpContext context, SchoolDb db, ChangeTravelSettings change, CancellationToken cancel)
    {
        var row = await ReadAsync(db, cancel);
        return ETags.Mismatch(context, row) ?? (await change.RunAsync(row.Version, input.ToSettings(), cancel)).ToRow(context, TravelSettingsView.Of);
    }

    private static Task<TravelSettings> ReadAsync(SchoolDb db, CancellationToken cancel) => db.Set<TravelSettings>().AsNoTracking().SingleAsync(cancel);
}
