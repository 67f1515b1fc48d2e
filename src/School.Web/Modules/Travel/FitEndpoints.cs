using NodaTime;
using School.Core.Travel;
using School.Web.Platform.Access;
using School.Web.Platform.Api;

namespace School.Web.Modules.Travel;

internal sealed record FitErrorJson(double MedianAbsoluteMinutes, double EarlyMinutes, double LateMinutes)
{
    public static FitErrorJson Of(FitError error) => new(Math.Round(error.MedianAbsolute, 2), Math.Round(error.Early, 2), Math.Round(error.Late, 2));
}

internal sealed record FittedBandJson(DayKind Days, int FromHour, int UntilHour, double Mph, double FittedMph, int Legs, bool Own);

internal sealed record OutlierJson(Guid LegId, Guid InstructorId, Instant Left, double Minutes, double ExpectedMinutes);

/// <summary>Bands, errors and outliers are empty while legs are missing. Errors are actual minus estimate; 80 % lie between early and late.</summary>
internal sealed record FitJson(
    int Legs, int Needed, int Missing, FitErrorJson? ErrorBefore, FitErrorJson? ErrorAfter, IReadOnlyList<FittedBandJson> Bands, IReadOnlyList<OutlierJson> Outliers)
{
    public static FitJson Of(FitView view) => new(
        view.Usable, TravelFit.LegsNeeded, view.Missing,
        view.Fit is { } fit ? FitErrorJson.Of(fit.ErrorBefore) : null,
        view.Fit is { } same ? FitErrorJson.Of(same.ErrorAfter) : null,
        [.. (view.Fit?.Bands ?? []).Select(b => new FittedBandJson(b.Days, b.Before.From, b.Before.Until, b.Before.Mph, b.Mph, b.Legs, b.Own))],
        [.. (view.Fit?.Outliers ?? []).Select(o => new OutlierJson(
            o.Leg.Id, view.Drives[o.Leg.Id].InstructorId, view.Drives[o.Leg.Id].LeftAt, Math.Round(o.Leg.Minutes, 1), Math.Round(o.Estimate, 1)))]);
}

internal static class FitEndpoints
{
    public static void MapTravelFit(this IEndpointRouteBuilder app)
    {
        var fit = app.MapApi("travel").MapGroup("fit");
        fit.MapGet("", GetAsync).Needs(Permission.ManageSchool).WithName("GetTravelFit")
            .WithSummary("Speeds fitted to the recorded drives, with their error; the ETag is that of the travel settings.").Produces<FitJson>();
        fit.MapPost("", UseAsync).Needs(Permission.ManageSchool).WithIdempotency().WithName("UseTravelFit")
            .WithSummary("Takes the fitted speeds over into the travel settings; wants If-Match.")
            .Produces<TravelSettingsView>().ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
    }

    private static async Task<IResult> GetAsync(HttpContext context, FitTravel fit, CancellationToken cancel)
    {
        var view = await fit.ReadAsync(cancel);
        return ETags.OkWithMore(context, view.Settings.Version, FitJson.Of(view));
    }

    private static async Task<IResult> UseAsync(HttpContext context, UseTravelFit use, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await use.RunAsync(viewer, ETags.Wanted(context), cancel)).ToRow(context, row => TravelSettingsView.Of(row, null));
}
