using School.Web.Modules.Diary.HandOvers;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Diary.Swaps;
using School.Web.Modules.Diary.TestDays;
using School.Web.Modules.Diary.Waiting;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Operations;

namespace School.Web.Modules.Diary.Mail;

/// <summary>Which change each letter of the diary answers to, and which change owes one.</summary>
internal static class LetterCauses
{
    // The change and its letter are written in one transaction, each at its own reading of the clock.
    private const string ByThen = "BETWEEN m.written_at - interval '2 minutes' AND m.written_at + interval '2 minutes'";

    private const string SameMoment = "m.written_at BETWEEN o.at - interval '2 minutes' AND o.at + interval '2 minutes'";

    /// <summary>What tells a pupil of what was agreed, changed or charged.</summary>
    public static readonly HashSet<string> Proofs = new(
        [
            LessonMail.Booked, WeeklyMail.Booked, LessonMail.Moved, WeeklyMail.Moved, LessonMail.Cancelled, WeeklyMail.Cancelled, LessonMail.Became, LessonMail.Late, ChangesMail.Several,
            TestDayWording.Entered, TestDayWording.Changed, TestDayWording.TakenOff, HandOverWording.Kind,
        ],
        StringComparer.Ordinal);

    /// <summary>What also goes to whoever is beside the pupil and gets copies: all that tells when lessons and tests are.</summary>
    private static readonly HashSet<string> Copied = new([.. Proofs, LessonMail.Reminder, TestDayWording.LastFreeDay, TestDayWording.Tomorrow], StringComparer.Ordinal);

    private static readonly string[] Money = [LessonFact.Charge, LessonFact.ChargeAct, LessonFact.ChargeStart, LessonFact.ChargeFreeUntil, LessonFact.ChargedAt, LessonFact.NothingAsked];

    public static IEnumerable<LetterKind> Kinds => All.Select(kind => kind with { IsProof = Proofs.Contains(kind.Kind), IsCopied = Copied.Contains(kind.Kind), Money = Money });

    private static IEnumerable<LetterKind> All =>
    [
        OfLesson(LessonMail.Booked, ChangeKind.Booked), OfLesson(WeeklyMail.Booked, ChangeKind.Booked),
        OfLesson(LessonMail.Moved, ChangeKind.Moved), OfLesson(WeeklyMail.Moved, ChangeKind.Moved),
        OfLesson(LessonMail.Cancelled, ChangeKind.Cancelled), OfLesson(WeeklyMail.Cancelled, ChangeKind.Cancelled),
        OfLesson(LessonMail.Became, ChangeKind.BecameAnother),
        OfLesson(LessonMail.Reminder, ChangeKind.Booked, ChangeKind.Moved, ChangeKind.BecameAnother), OfLesson(LessonMail.Late, ChangeKind.ToldLate),
        OfLesson(ChangesMail.Several, ChangeKind.Booked, ChangeKind.Moved, ChangeKind.Cancelled),
        OfTestDay(TestDayWording.Entered), OfTestDay(TestDayWording.Changed), OfTestDay(TestDayWording.TakenOff), OfTestDay(TestDayWording.LastFreeDay),
        OfTestDay(TestDayWording.Tomorrow),
        OfOffer(WaitingWording.Offered, "true"), OfOffer(WaitingWording.Ended, $"o.state = '{OfferState.Gone}'"),
        OfSwap(SwapWording.Asked, "true"), OfSwap(SwapWording.Off, "NOT s.open"),
        new(
            HandOverWording.Kind,
            $"EXISTS (SELECT FROM diary.proposals h WHERE h.id = m.about_id AND h.kind = '{ProposalKind.HandOver}' AND h.state = '{ProposalState.Applied}') OR m.written_at <= {RetentionRule.ClearedUntil(DiaryRetention.Proposals)}"),
    ];

    /// <summary>A move into another car alone changes nothing for the pupil; the others tell them, several of one act in one letter about the first of them.</summary>
    public static IInvariant ChangesHaveLetters { get; } = new SqlInvariant(
        "lesson_changes_have_letters",
        "every booking, move, change, cancellation and delay of a lesson has its letter to the pupil, as long as such letters are kept",
        $"""SELECT count(*) AS "Value" FROM diary.lesson_changes WHERE kind IN ('{ChangeKind.Booked}', '{ChangeKind.Moved}', '{ChangeKind.Cancelled}', '{ChangeKind.BecameAnother}', '{ChangeKind.ToldLate}')""",
        $"""
        WITH placed AS (
            SELECT c.lesson_id, c.at, c.kind, c.starts_at, c.instructor_id, lag(c.starts_at) OVER w AS former_start, lag(c.instructor_id) OVER w AS former_instructor
            FROM diary.lesson_changes c WHERE c.kind IN ('{ChangeKind.Booked}', '{ChangeKind.Moved}')
            WINDOW w AS (PARTITION BY c.lesson_id ORDER BY c.at, c.id)),
        owed AS (
            SELECT lesson_id, at, '{LessonMail.Booked}' AS alone, '{WeeklyMail.Booked}' AS together FROM placed WHERE kind = '{ChangeKind.Booked}'
            UNION ALL SELECT lesson_id, at, '{LessonMail.Moved}', '{WeeklyMail.Moved}' FROM placed
            WHERE kind = '{ChangeKind.Moved}' AND (starts_at IS DISTINCT FROM former_start OR instructor_id IS DISTINCT FROM former_instructor)
            UNION ALL SELECT lesson_id, at, '{LessonMail.Cancelled}', '{WeeklyMail.Cancelled}' FROM diary.lesson_changes WHERE kind = '{ChangeKind.Cancelled}'
            UNION ALL SELECT lesson_id, at, '{LessonMail.Became}', NULL FROM diary.lesson_changes WHERE kind = '{ChangeKind.BecameAnother}'
            UNION ALL SELECT lesson_id, at, '{LessonMail.Late}', NULL FROM diary.lesson_changes WHERE kind = '{ChangeKind.ToldLate}')
        SELECT o.alone || ' of lesson ' || l.id AS "Value"
        FROM owed o JOIN diary.lessons l ON l.id = o.lesson_id JOIN pupils.pupils p ON p.id = l.pupil_id
        WHERE p.email <> '' AND o.at > {RetentionRule.ClearedUntil("letters_to_pupils")} + interval '2 minutes'
            AND NOT EXISTS (SELECT FROM messages.messages m WHERE m.about_id = l.id AND m.kind IN (o.alone, o.together) AND m.key LIKE '%:pupil%' AND {SameMoment})
            AND NOT EXISTS (
                SELECT FROM diary.lessons s JOIN messages.messages m ON m.about_id = s.id
                WHERE s.pupil_id = l.pupil_id AND m.kind IN (o.together, '{ChangesMail.Several}') AND m.key LIKE '%:pupil%' AND {SameMoment})
            AND NOT EXISTS (
                SELECT FROM messages.messages m
                WHERE m.kind = '{HandOverWording.Kind}' AND m.receiver_id = l.pupil_id AND o.alone = '{LessonMail.Moved}' AND {SameMoment})
        ORDER BY o.at, l.id
        """);

    public static IInvariant OffersHaveLetters { get; } = new SqlInvariant(
        "offers_have_letters",
        "every offer to somebody on the waiting list has its letter, as long as such letters are kept",
        """SELECT count(*) AS "Value" FROM diary.offers""",
        $"""
        SELECT 'offer ' || o.id AS "Value" FROM diary.offers o JOIN pupils.pupils p ON p.id = o.pupil_id
        WHERE p.email <> '' AND o.offered_at > {RetentionRule.ClearedUntil("letters_other")}
            AND NOT EXISTS (SELECT FROM messages.messages m WHERE m.about_id = o.id AND m.kind = '{WaitingWording.Offered}')
        ORDER BY o.id
        """);

    private static LetterKind OfLesson(string kind, params IEnumerable<ChangeKind> changes) => new(
        kind,
        $"EXISTS (SELECT FROM diary.lesson_changes c WHERE c.lesson_id = m.about_id AND c.kind IN ({string.Join(", ", changes.Select(change => $"'{change}'"))}) AND c.at {ByThen})");

    /// <summary>An offer may be cleared before the letters about it: they were written before the time that was offered began.</summary>
    private static LetterKind OfOffer(string kind, string which) => new(
        kind, $"EXISTS (SELECT FROM diary.offers o WHERE o.id = m.about_id AND {which}) OR m.written_at <= {RetentionRule.ClearedUntil(DiaryRetention.FreedTimes)}");

    private static LetterKind OfSwap(string kind, string which) => new(
        kind,
        $"EXISTS (SELECT FROM diary.swap_answers s WHERE s.proposal_id = m.about_id AND s.pupil_id = m.receiver_id AND {which}) OR m.written_at <= {RetentionRule.ClearedUntil(DiaryRetention.Proposals)}");

    private static LetterKind OfTestDay(string kind) =>
        new(kind, $"EXISTS (SELECT FROM diary.test_day_changes c WHERE c.test_day_id = m.about_id AND c.at {ByThen})");
}
