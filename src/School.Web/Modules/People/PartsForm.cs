using School.Web.Platform.Access;

namespace School.Web.Modules.People;

/// <summary>The parts of the office as boxes to tick.</summary>
internal sealed class PartsForm
{
    public bool Diary { get; set; }

    public bool People { get; set; }

    public bool Money { get; set; }

    public bool Settings { get; set; }

    public bool Confidential { get; set; }

    public static PartsForm Of(OfficeParts parts) => new()
    {
        Diary = parts.Holds(OfficePart.Diary),
        People = parts.Holds(OfficePart.People),
        Money = parts.Holds(OfficePart.Money),
        Settings = parts.Holds(OfficePart.Settings),
        Confidential = parts.Holds(OfficePart.Confidential),
    };

    public IReadOnlyList<OfficePart> ToList() =>
    [
        .. new[]
        {
            (OfficePart.Diary, Diary), (OfficePart.People, People), (OfficePart.Money, Money), (OfficePart.Settings, Settings),
            (OfficePart.Confidential, Confidential),
        }.Where(part => part.Item2).Select(part => part.Item1),
    ];

    public OfficeParts ToParts() => ToList().Together();
}
