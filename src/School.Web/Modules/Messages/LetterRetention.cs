using School.Web.Modules.Records.Contracts;

namespace School.Web.Modules.Messages;

/// <summary>How long letters are kept.</summary>
internal static class LetterRetention
{
    /// <summary>Six years (Limitation Act 1980, s. 5), with half a year: a lesson is booked before the day that a claim counts from, and a claim may be served four months after it is made.</summary>
    private const int AsLongAsAClaim = 2_375;

    public static readonly RetentionRule[] Rules =
    [
        new(
            "letters_to_pupils", "Letters to pupils about their lessons and test days", "The whole letter, from when it went or was withdrawn.",
            "They show what a pupil was told about a booking, a move, a cancellation and its charge, and when; that can be argued about for six years, and half a year is for the time before and after.")
        {
            Days = AsLongAsAClaim, Least = AsLongAsAClaim, Most = 3_653, Source = new("Limitation Act 1980, section 5", "https://www.legislation.gov.uk/ukpga/1980/58/section/5"),
            Table = "messages.messages", Key = "id", Of = "r.proof AND r.closed_at IS NOT NULL", Since = "r.closed_at",
        },
        new(
            "letters_other", "Reminders, invitations and letters to instructors", "The whole letter, from when it went or was withdrawn.",
            "They repeat what stands in the diary. For half a year somebody may ask whether one came; after that it is personal data without a purpose.")
        {
            Days = 183, Least = 92, Most = AsLongAsAClaim, Table = "messages.messages", Key = "id", Of = "NOT r.proof AND r.closed_at IS NOT NULL", Since = "r.closed_at",
        },
    ];
}
