using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Cars;

/// <summary>A holding as a line on screen.</summary>
internal sealed record HoldingLine(Guid Id, string Name, string Days, bool Now, bool Ends)
{
    /// <summary>In order of days; <c>Ends</c> where it is not over yet, and so can still be ended.</summary>
    public static IReadOnlyList<HoldingLine> Of(Car car, IReadOnlyDictionary<Guid, string> names, LocalDate today) =>
        [.. car.Holdings.OrderBy(h => h.From).Select(h => new HoldingLine(
            h.Id, names[h.InstructorId],
            h.To is { } to ? $"{ScreenWords.DayAndYear(h.From)} to {ScreenWords.DayAndYear(to)}" : $"from {ScreenWords.DayAndYear(h.From)} on",
            h.From <= today && !(h.To < today), !(h.To < today)))];
}

/// <summary>A period off the road as a line on screen.</summary>
internal sealed record OffRoadLine(Guid Id, string Reason, string From, string Until, bool Ends)
{
    public static IReadOnlyList<OffRoadLine> Of(Car car, SchoolFacts school, Instant now) =>
        [.. car.OffRoad.OrderBy(o => o.StartsAt).Select(o => new OffRoadLine(
            o.Id, o.Reason, Words(o.StartsAt, school), o.EndsAt is { } end ? Words(end, school) : "not known yet", !(o.EndsAt <= now)))];

    private static string Words(Instant at, SchoolFacts school)
    {
        var local = at.InZone(school.Zone).LocalDateTime;
        return $"{ScreenWords.DayAndYear(local.Date)}, {ScreenWords.Time(local.TimeOfDay, school.TwelveHourClock)}";
    }
}
