using School.Core.Travel;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Travel;

internal sealed class ChangeTravelSettings(SchoolDb db)
{
    public Task<Outcome<TravelSettings>> RunAsync(int version, StraightLineSettings wanted, CancellationToken cancel) => db.InTransactionAsync<TravelSettings>(async cancel =>
    {
        var taken = await db.Set<TravelSettings>().TakeAsync(TravelSettings.Only, version, "setting", cancel);
        if (!taken.Ok)
        {
            return taken;
        }

        var errors = new FieldErrors();
        foreach (var (field, sentence) in wanted.Validate())
        {
            errors.Add(field, sentence);
        }

        return errors.ToRefusal() is { } refusal ? refusal : taken.Value.Take(wanted);
    }, cancel);
}
