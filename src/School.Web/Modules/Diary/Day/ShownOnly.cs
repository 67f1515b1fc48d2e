using School.Core.Cars;
using School.Core.Diary;

namespace School.Web.Modules.Diary.Day;

/// <summary>Whose days are asked for: who serves an area, teaches a gearbox, has a car, is approved or a trainee; null where it makes no difference.</summary>
internal sealed record ShownOnly(Guid? Area, Gearbox? Gearbox, Guid? Car, RegistrationKind? Group)
{
    public bool IsAsked => (Area, Gearbox, Car, Group) is not (null, null, null, null);

    /// <summary>What the address says of it.</summary>
    public IReadOnlyList<(string Name, string Value)> Kept =>
    [
        .. Area is { } area ? [("area", area.ToString())] : Array.Empty<(string, string)>(),
        .. Gearbox is { } gearbox ? [("gearbox", gearbox.ToString())] : Array.Empty<(string, string)>(),
        .. Car is { } car ? [("car", car.ToString())] : Array.Empty<(string, string)>(),
        .. Group is { } group ? [("group", group.ToString())] : Array.Empty<(string, string)>(),
    ];

    /// <summary>The same behind what an address says already.</summary>
    public string Query => string.Concat(Kept.Select(one => $"&{one.Name}={one.Value}"));
}

/// <summary>Whose days are shown, and what else may be asked.</summary>
/// <param name="Ids">Them; null for everybody.</param>
/// <param name="Words">What was asked, in words; empty where nothing was.</param>
internal sealed record ShownInstructors(ShownOnly Asked, IReadOnlyCollection<Guid>? Ids, string Words)
{
    /// <summary>The fields of the filter; none while it is not open.</summary>
    public IReadOnlyList<ShownChoice> Choices { get; init; } = [];
}

/// <summary>A field of the filter.</summary>
/// <param name="Options">Values with their words; empty where the school has nothing to choose.</param>
internal sealed record ShownChoice(string Name, string Label, string Any, IReadOnlyList<(string Value, string Words)> Options, string? Chosen);
