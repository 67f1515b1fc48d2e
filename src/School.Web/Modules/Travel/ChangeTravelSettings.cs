using School.Core.Travel;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Travel;

internal sealed class ChangeTravelSettings(SchoolDb db, Audit audit)
{
    public Task<Outcome<TravelSettings>> RunAsync(Viewer viewer, StraightLineSettings wanted, int? expected, CancellationToken cancel) => db.InTransactionAsync<TravelSettings>(async cancel =>
    {
        var taken = await db.Set<TravelSettings>().TakeAsync(TravelSettings.Only, expected, "setting", cancel);
        if (!taken.Ok)
        {
            return taken;
        }

        var errors = new FieldErrors();
        foreach (var (field, sentence) in wanted.Validate())
        {
            errors.Add(field, sentence);
        }

        if (errors.ToRefusal() is { } refusal)
        {
            return refusal;
        }

        audit.NoteValues(viewer, "travel.change", null, "Changed how driving times are estimated", taken.Value.Take(wanted));
        return taken;
    }, cancel);
}
