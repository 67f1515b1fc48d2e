using Microsoft.EntityFrameworkCore;
using School.Core.Travel;
using School.Web.Platform.Database;

namespace School.Web.Modules.Travel.Contracts;

/// <summary>The travel times that hold for this request.</summary>
internal sealed class TravelModel(SchoolDb db)
{
    private ITravelTimes? _times;

    public async Task<ITravelTimes> GetAsync(CancellationToken cancel)
    {
        if (_times is null)
        {
            var row = await db.Set<TravelSettings>().AsNoTracking().SingleAsync(cancel);
            _times = new StraightLineTravel(row.ToSettings());
        }

        return _times;
    }
}
