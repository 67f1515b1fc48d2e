namespace School.Web.Platform.Access;

/// <summary>What somebody is to the school. Anybody who signs in wears any set of them.</summary>
internal enum Hat
{
    Pupil,

    /// <summary>Stands beside a pupil: a parent, a partner, whoever pays.</summary>
    BesidePupil,
    Instructor,

    /// <summary>Of the office, in some of its <see cref="OfficeParts"/>.</summary>
    Office,
}

/// <summary>A part of what the office looks after.</summary>
internal enum OfficePart
{
    /// <summary>Everybody's lessons, hours and cars.</summary>
    Diary,

    /// <summary>Pupils and instructors: who they are, how they are reached, their papers.</summary>
    People,

    Money,

    /// <summary>How the school works, and who may do what.</summary>
    Settings,

    /// <summary>What is kept under seal: health notes and driver numbers.</summary>
    Confidential,
}

/// <summary>Some parts of the office together.</summary>
[Flags]
internal enum OfficeParts
{
    None = 0,
    Diary = 1 << OfficePart.Diary,
    People = 1 << OfficePart.People,
    Money = 1 << OfficePart.Money,
    Settings = 1 << OfficePart.Settings,
    Confidential = 1 << OfficePart.Confidential,
    All = Diary | People | Money | Settings | Confidential,
}

internal static class OfficePartsList
{
    public static IReadOnlyList<OfficePart> List(this OfficeParts parts) => [.. Enum.GetValues<OfficePart>().Where(part => parts.Holds(part))];

    public static bool Holds(this OfficeParts parts, OfficePart part) => (parts & (OfficeParts)(1 << (int)part)) != OfficeParts.None;

    public static OfficeParts Together(this IEnumerable<OfficePart> parts) => parts.Aggregate(OfficeParts.None, (all, part) => all | (OfficeParts)(1 << (int)part));
}
