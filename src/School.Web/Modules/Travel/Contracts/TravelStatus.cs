using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Travel.Contracts;

internal enum TravelSource
{
    StraightLine,
    RoutingServer,
}

/// <summary>Where driving times come from, and since when the routing server has not been answering.</summary>
internal sealed record TravelStatus(TravelSource Source, Instant? FallingBackSince, string Reason, string Attribution)
{
    public bool FallingBack => FallingBackSince is not null;

    /// <summary>What staff should know while the server is away; null when all is well.</summary>
    public string? Warning(SchoolFacts school)
    {
        if (FallingBackSince is not { } since)
        {
            return null;
        }

        var local = since.InZone(school.Zone).LocalDateTime;
        return $"Since {ScreenWords.Day(local.Date)}, {ScreenWords.Time(local.TimeOfDay, school.TwelveHourClock)}: {Reason}. "
            + "Drives that it has not told before are estimated from the straight line, so leave some time to spare.";
    }
}
