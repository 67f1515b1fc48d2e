using NodaTime;

namespace School.Web.Modules.People.SignIn;

/// <summary>Lets the framework's cookies and stamps read the same clock as everything else.</summary>
internal sealed class ClockTime(IClock clock) : TimeProvider
{
#pragma warning disable RS0030 // The framework's own signature.
    public override DateTimeOffset GetUtcNow() => clock.GetCurrentInstant().ToDateTimeOffset();
#pragma warning restore RS0030
}
