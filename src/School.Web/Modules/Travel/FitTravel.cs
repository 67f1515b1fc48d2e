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

/// <summary>Fits the speeds to the recorded drives; only <see cref="UseAsync"/> changes anything, and only when somebody says so.</summary>
internal sealed class FitTravel(SchoolDb db, SchoolInfo school, IClock clock)
{
    /// <summary>The newest count: roads change, and the sum stays quick.</summary>
    private const int MostDrives = 2_000;

    public async Task<FitView> ReadAsync(CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var oldest = clock.GetCurrentInstant() - RecordedDrive.Kept;
        var settings = await db.Set<TravelSettings>().SingleAsync(cancel);
        var drives = await db.Set<RecordedDrive>().AsNoTracking().Where(d => d.ArrivedAt != null && d.LeftAt > oldest)
            .OrderByDescending(d => d.LeftAt).ThenBy(d => d.Id).Take(MostDrives).ToListAsync(cancel);
        var usable = TravelFit.Usable(drives.Select(drive => drive.ToLeg(zone)));
        return new(settings, usable.Count, TravelFit.Of(settings.ToSettings(), usable), drives.ToDictionary(drive => drive.Id));
    }

    /// <summary>Takes the fitted speeds over, unless the settings changed since they were looked at.</summary>
    public Task<Outcome<TravelSettings>> UseAsync(int? version, CancellationToken cancel) => db.InTransactionAsync<TravelSettings>(
        async cancel =>
        {
            var view = await ReadAsync(cancel);
            if (version is { } seen && seen != view.Settings.Version)
            {
                return Refusal.Stale;
            }

            return view.Fit is { } fit
                ? view.Settings.Take(fit.Settings)
                : Refusal.Rule("too_few_drives", $"{TravelFit.LegsNeeded} recorded drives are needed, and {view.Missing} are still missing.");
        },
        cancel);
}
