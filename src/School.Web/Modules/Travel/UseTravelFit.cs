using School.Core.Travel;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Travel;

/// <summary>Takes the fitted speeds over, unless the settings changed since they were looked at.</summary>
internal sealed class UseTravelFit(SchoolDb db, FitTravel fit, Audit audit)
{
    public Task<Outcome<TravelSettings>> RunAsync(Viewer viewer, int? expected, CancellationToken cancel) => db.InTransactionAsync<TravelSettings>(
        async cancel =>
        {
            var taken = await db.Set<TravelSettings>().TakeAsync(TravelSettings.Only, expected, "setting", cancel);
            if (!taken.Ok)
            {
                return taken;
            }

            var view = await fit.OfAsync(taken.Value, cancel);
            if (view.Fit is not { } found)
            {
                return Refusal.Rule("too_few_drives", $"{TravelFit.LegsNeeded} recorded drives are needed, and {view.Missing} are still missing.");
            }

            audit.NoteValues(viewer, "travel.change", null, "Took over the speeds of the recorded drives", taken.Value.Take(found.Settings));
            return taken;
        },
        cancel);
}
