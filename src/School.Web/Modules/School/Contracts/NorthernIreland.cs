namespace School.Web.Modules.School.Contracts;

/// <summary>What a school in Northern Ireland is told: where the rules here are those of Great Britain and do not follow.</summary>
internal static class NorthernIreland
{
    public const string Slug = "northern-ireland";

    public const string Places =
        "The open file of postcodes leaves Northern Ireland out, so places here are found on the map, by where you are, or by latitude and longitude; a BT postcode is kept, but finds nothing.";

    public const string Tests =
        "Test days are kept for centres in Great Britain only: Northern Ireland books and changes tests by rules of its own (nidirect.gov.uk), and no last free day is counted for them.";

    public const string Learning =
        "Skills, levels and texts are Great Britain’s: the record here has 24 skills and five levels of other names (nidirect.gov.uk, planning and recording how you learn to drive). Change them under Syllabus.";

    /// <summary>Each with where it comes from.</summary>
    public static IReadOnlyList<string> DoesNotFollow { get; } =
    [
        Places,
        Tests,
        Learning,
        "A learner drives at 45 mph at most (gov.uk/driving-lessons-learning-to-drive). No lesson, brief or text knows of it.",
        "Lessons on the motorway follow the rule of 2018 for England, Scotland and Wales (SI 2018/222, 2018/225). Take the kind off the list where it does not hold.",
        "Registration and trainee licences of instructors are judged by Great Britain’s law (SI 2005/1902), the one fifth of supervision too.",
        "Driver numbers of Northern Ireland, 8 digits, are not checked and not kept; the licence rules are Great Britain’s.",
    ];

    /// <summary>What does.</summary>
    public const string Follows = "What does follow: the bank holidays of Northern Ireland, and a car’s first MOT after four years (nidirect.gov.uk).";
}
