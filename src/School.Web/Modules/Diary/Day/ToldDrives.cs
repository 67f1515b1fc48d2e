using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Diary.Day;

/// <summary>Which drives of a day are told: none from or to a place that is still to be found, because it is reckoned with the middle of its district.</summary>
internal sealed class ToldDrives(DaySheet day)
{
    private readonly Dictionary<Guid, (Place From, Place To)> _places = day.Lessons.Select(lesson => (lesson.Id, Places: (lesson.PickUp, lesson.DropOff)))
        .Concat(day.Tests.Select(test => (test.Id, Places: (test.PickUp, test.EndsWhere)))).ToDictionary(one => one.Id, one => one.Places);

    /// <summary>Whether the drive to a stop of the route is told.</summary>
    public bool To(int stop) => Begin(stop).IsFound && (stop == 0 || End(stop - 1).IsFound);

    /// <summary>Whether the drive home is told.</summary>
    public bool Home => day.Route.Stops.Count == 0 || End(day.Route.Stops.Count - 1).IsFound;

    /// <summary>Minutes and miles of drives that are not told.</summary>
    public (int Minutes, double Miles) Untold()
    {
        var legs = Enumerable.Range(0, day.Route.Stops.Count).Where(stop => !To(stop)).Select(stop => day.Route.Stops[stop].Leg).ToList();
        if (!Home && day.Route.LegHome is { } home)
        {
            legs.Add(home);
        }

        return (legs.Sum(leg => leg.Minutes), legs.Sum(leg => leg.Miles));
    }

    private Place Begin(int stop) => _places.TryGetValue(day.Route.Stops[stop].Entry.Id, out var places) ? places.From : day.Instructor.Base;

    private Place End(int stop) => _places.TryGetValue(day.Route.Stops[stop].Entry.Id, out var places) ? places.To : day.Instructor.Base;
}
