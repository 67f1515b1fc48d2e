using School.Web.Platform.Operations;

namespace School.Web.Modules.Accounts;

/// <summary>What is always true of the books.</summary>
internal static class AccountInvariants
{
    public static IReadOnlyList<IInvariant> All { get; } =
    [
        new SqlInvariant(
            "entries_balance",
            "every entry of the journal has lines, and they come to nought",
            """SELECT count(*) AS "Value" FROM accounts.entries""",
            """
            SELECT 'entry ' || e.id AS "Value" FROM accounts.entries e LEFT JOIN accounts.lines l ON l.entry_id = e.id
            GROUP BY e.id HAVING count(l.id) = 0 OR sum(l.pence) <> 0 ORDER BY 1
            """),
        new SqlInvariant(
            "lessons_posted_once",
            "no lesson stands in the journal twice as taught or missed",
            """SELECT count(DISTINCT lesson_id) AS "Value" FROM accounts.entries""",
            """
            SELECT 'lesson ' || e.lesson_id AS "Value" FROM accounts.entries e
            WHERE e.lesson_id IS NOT NULL AND e.kind NOT IN ('Reversal', 'LateMove') AND NOT EXISTS (SELECT FROM accounts.entries r WHERE r.reverses_id = e.id)
            GROUP BY e.lesson_id HAVING count(*) > 1 ORDER BY 1
            """),
        new SqlInvariant(
            "blocks_hold",
            "of no prepaid hours more were used than were sold, and what is used up comes to its price",
            """SELECT count(*) AS "Value" FROM accounts.blocks""",
            """
            SELECT 'block ' || b.id AS "Value" FROM accounts.blocks b
            LEFT JOIN (SELECT block_id, -sum(minutes) AS minutes, -sum(pence) AS pence FROM accounts.lines WHERE account = 'Prepaid' GROUP BY block_id) l ON l.block_id = b.id
            WHERE coalesce(l.minutes, 0) NOT BETWEEN 0 AND b.minutes OR coalesce(l.pence, 0) < 0 OR (coalesce(l.minutes, 0) = 0 AND coalesce(l.pence, 0) <> 0) ORDER BY 1
            """),
        new SqlInvariant(
            "receipts_without_gaps",
            "receipts of a set of books are numbered from 1 without gaps, and each has its entry",
            """SELECT count(*) AS "Value" FROM accounts.payments""",
            """
            SELECT 'receipt ' || p.number AS "Value" FROM (SELECT id, number, row_number() OVER (PARTITION BY book_id ORDER BY number) AS place FROM accounts.payments) p
            WHERE p.number <> p.place OR NOT EXISTS (SELECT FROM accounts.entries e WHERE e.payment_id = p.id) ORDER BY 1
            """),
    ];
}
