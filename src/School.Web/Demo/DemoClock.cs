using NodaTime;

namespace School.Web.Demo;

/// <summary>A clock that the generator winds through the weeks that it makes up.</summary>
internal sealed class DemoClock(Instant start) : IClock
{
    public Instant Now { get; set; } = start;

    public Instant GetCurrentInstant() => Now;
}
