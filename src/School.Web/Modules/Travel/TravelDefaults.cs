using Microsoft.EntityFrameworkCore;
using School.Core.Travel;
using School.Web.Modules.Travel.Routing;
using School.Web.Platform.Database;

namespace School.Web.Modules.Travel;

internal sealed class TravelDefaults : IModuleDefaults
{
    public async Task AddMissingAsync(SchoolDb db, CancellationToken cancel)
    {
        if (!await db.Set<TravelSettings>().AnyAsync(cancel))
        {
            db.Add(TravelSettings.From(new StraightLineSettings()));
        }

        if (!await db.Set<RoutingHealth>().AnyAsync(cancel))
        {
            db.Add(new RoutingHealth());
        }
    }
}
