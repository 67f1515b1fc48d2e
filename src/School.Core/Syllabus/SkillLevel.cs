namespace School.Core.Syllabus;

/// <summary>How far a pupil has come with a skill; a level can go down as well as up.</summary>
/// <remarks>Names: DVSA driver's record, gov.uk "Record your pupils' progress learning to drive", updated 7 February 2023. Meanings in our own words.</remarks>
public enum SkillLevel
{
    /// <summary>The topic was shown; the pupil follows instructions.</summary>
    Introduced = 1,

    /// <summary>Getting better, still needs some help.</summary>
    Helped = 2,

    /// <summary>Sometimes needs a prompt, mostly where something is new or unusual.</summary>
    Prompted = 3,

    /// <summary>Consistent, confident, without help.</summary>
    Independent = 4,

    /// <summary>Can talk through how it could have gone otherwise, adapts, and sees why it is safer.</summary>
    Reflection = 5,
}
