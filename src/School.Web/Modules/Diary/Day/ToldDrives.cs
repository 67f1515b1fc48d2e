using School.Core.Diary.Order;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Diary.Day;

/// <summary>Which drives of a day are told: none from or to a place that is still to be found, because it is reckoned with the middle of its district.</summary>
internal sealed class ToldDrives(DayRoute route, IReadOnlyDictionary<Guid, (Place From, Place To)> places, Place home)
{
    public static ToldDrives Of(DaySheet day) => new(day.Route, PlacesOf(day.Lessons, day.Tests), day.Instructor.Base);

    /// <summary>Where each lesson and test begins and ends.</summary>
    public static IReadOnlyDictionary<Guid, (Place From, Place To)> PlacesOf(IEnumerable<Lesson> lessons, IEnumerable<TestDay> tests) =>
        lessons.Select(lesson => (lesson.Id, Places: (lesson.PickUp, lesson.DropOff)))
            .Concat(tests.Select(test => (test.Id, Places: (test.PickUp, test.EndsWhere)))).ToDictionary(one => one.Id, one => one.Places);

    /// <summary>Whether the drive to a stop of the route is told.</summary>
    public bool To(int stop) => Begin(stop).IsFound && (stop == 0 || End(stop - 1).IsFound);

    /// <summary>Whether the drive home is told.</summary>
    public bool Home => route.Stops.Count == 0 || End(route.Stops.Count - 1).IsFound;

    /// <summary>How many drives are not told, and their minutes and miles.</summary>
    public (int Drives, int Minutes, double Miles) Untold()
    {
        var legs = Enumerable.Range(0, route.Stops.Count).Where(stop => !To(stop)).Select(stop => route.Stops[stop].Leg).ToList();
        if (!Home && route.LegHome is { } last)
        {
            legs.Add(last);
        }

        return (legs.Count, legs.Sum(leg => leg.Minutes), legs.Sum(leg => leg.Miles));
    }

    private Place Begin(int stop) => places.TryGetValue(route.Stops[stop].Entry.Id, out var known) ? known.From : home;

    private Place End(int stop) => places.TryGetValue(route.Stops[stop].Entry.Id, out var known) ? known.To : home;
}
