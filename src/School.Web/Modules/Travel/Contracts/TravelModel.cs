using Microsoft.EntityFrameworkCore;
using School.Core.Travel;
using School.Web.Modules.Travel.Routing;
using School.Web.Platform.Database;

namespace School.Web.Modules.Travel.Contracts;

/// <summary>
/// The travel times that hold for this request. Rules look them up without waiting, so whoever asks names the places first: drives
/// between places that were not named together are estimated even where there is a routing server.
/// </summary>
internal sealed class TravelModel(SchoolDb db, RoutingSettings settings, RoadDrives roads, RoutingBreaker breaker)
{
    private StraightLineTravel? _estimate;

    /// <summary>Whether drives are looked up for the places of each question, so that an answer holds for that question only.</summary>
    public bool LooksUp => settings.HasServer;

    /// <summary>Its settings as a part of what is read together.</summary>
    public void Ahead(ReadTogether together)
    {
        if (_estimate is null)
        {
            var rows = together.Ask(db.Set<TravelSettings>().AsNoTracking());
            together.Then(() => _estimate = new(rows.All.Single().ToSettings()));
        }
    }

    /// <summary>Times between the places within each group; between others, estimates.</summary>
    public async Task<ITravelTimes> GetAsync(IEnumerable<IReadOnlyCollection<Coordinates>> groups, CancellationToken cancel)
    {
        var estimate = _estimate ??= new((await db.Set<TravelSettings>().AsNoTracking().SingleAsync(cancel)).ToSettings());
        return settings.HasServer ? new RoutedTravel(await roads.WithinAsync(groups, cancel), estimate) : estimate;
    }

    public async Task<TravelStatus> StatusAsync(CancellationToken cancel)
    {
        if (!settings.HasServer)
        {
            return new(TravelSource.StraightLine, null, "", "");
        }

        var health = await breaker.ReadAsync(cancel);
        return new(TravelSource.RoutingServer, health.FailingSince, health.Reason, settings.Attribution);
    }
}
