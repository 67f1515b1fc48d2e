using NodaTime;

namespace School.Web.Modules.School.Contracts;

/// <summary>When a date of a paper was entered as it stands, and by whom; empty where that was before anybody noted it.</summary>
internal sealed record Sighting
{
    public static Sighting None { get; } = new();

    public LocalDate? On { get; init; }

    public Guid? By { get; init; }

    /// <summary>The same while the date is the same; anew with another, and none with none.</summary>
    public Sighting After(LocalDate? before, LocalDate? now, LocalDate today, Guid? by) =>
        before == now ? this : now is null ? None : new() { On = today, By = by };
}
