using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Cars;

/// <summary>A car, and somebody who holds it.</summary>
internal sealed class CarSteps(SchoolDb db, SchoolInfo school, IClock clock) : IFirstSteps
{
    private const string Title = "A car, and who holds it";

    public async Task<IReadOnlyList<FirstStep>> ListAsync(string address, CancellationToken cancel)
    {
        var today = (await school.GetAsync(cancel)).Today(clock);
        var first = await db.Set<Car>().AsNoTracking().Where(c => c.RetiredOn == null)
            .OrderByDescending(c => c.Holdings.Any(h => h.To == null || h.To >= today)).ThenBy(c => c.Id)
            .Select(c => new { c.Id, c.Label, Held = c.Holdings.Any(h => h.To == null || h.To >= today) }).FirstOrDefaultAsync(cancel);
        return
        [
            first switch
            {
                null => new("car", 60, false, Title, "There is no car yet. Lessons are booked in the car that an instructor holds.", "Add a car", "/cars/new"),
                { Held: false } => new("car", 60, false, Title, $"Nobody holds the {first.Label}.", "Give it to an instructor", $"/cars/{first.Id}/holdings"),
                _ => new("car", 60, true, Title, $"The {first.Label} is held.", "", "/cars"),
            },
        ];
    }
}
