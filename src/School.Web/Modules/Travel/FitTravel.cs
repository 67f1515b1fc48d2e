using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Travel;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Travel;

/// <summary>What the recorded drives say of the present speeds; no fit while there are too few.</summary>
internal sealed record FitView(TravelSettings Settings, int Usable, TravelFit? Fit, IReadOnlyDictionary<Guid, RecordedDrive> Drives)
{
    public int Missing => Math.Max(0, TravelFit.LegsNeeded - Usable);
}

/// <summary>Fits the speeds to the recorded drives; changes nothing, which <see cref="UseTravelFit"/> does when somebody says so.</summary>
internal sealed class FitTravel(SchoolDb db, SchoolInfo school, IClock clock)
{
    /// <summary>The newest count: roads change, and the sum stays quick.</summary>
    private const int MostDrives = 2_000;

    public async Task<FitView> ReadAsync(CancellationToken cancel) => await OfAsync(await db.Set<TravelSettings>().AsNoTracking().SingleAsync(cancel), cancel);

    public async Task<FitView> OfAsync(TravelSettings settings, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var oldest = clock.GetCurrentInstant() - RecordedDrive.Kept;
        var drives = await db.Set<RecordedDrive>().AsNoTracking().Where(d => d.ArrivedAt != null && d.LeftAt > oldest)
            .OrderByDescending(d => d.LeftAt).ThenBy(d => d.Id).Take(MostDrives).ToListAsync(cancel);
        var usable = TravelFit.Usable(drives.Select(drive => drive.ToLeg(zone)));
        return new(settings, usable.Count, TravelFit.Of(settings.ToSettings(), usable), drives.ToDictionary(drive => drive.Id));
    }
}
