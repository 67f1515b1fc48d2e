using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Operations;

namespace School.Web.Modules.Diary;

/// <summary>What is always true of the diary's tables, whatever wrote them.</summary>
internal static class DiaryInvariants
{
    /// <summary>All that takes time: lessons that are not cancelled, test days that are not taken off.</summary>
    private const string Standing = """
        standing AS (
            SELECT id, 'lesson' AS kind, instructor_id, car_id, pupil_id, starts_at AS starts, ends_at AS ends FROM diary.lessons WHERE state <> 'Cancelled'
            UNION ALL
            SELECT id, 'test', instructor_id, car_id, pupil_id, blocked_from, blocked_until FROM diary.test_days WHERE state <> 'TakenOff')
        """;

    private const string HowMany = $"""WITH {Standing} SELECT count(*) AS "Value" FROM standing""";

    public static IServiceCollection AddDiaryInvariants(this IServiceCollection services)
    {
        foreach (var invariant in (IInvariant[])[OccupiedTime, TakenOnce, DayVersions, LetterCauses.ChangesHaveLetters, LetterCauses.OffersHaveLetters, SwapsAgreed])
        {
            services.AddSingleton(invariant);
        }

        Array.ForEach(DiaryRetention.Rules, rule => services.AddSingleton(rule));
        foreach (var kind in LetterCauses.Kinds)
        {
            services.AddSingleton(kind);
        }

        return services;
    }

    private static readonly SqlInvariant OccupiedTime = new(
        "occupied_time",
        "every lesson and test day that stands occupies exactly its own time unless that was cleared as long past, and nothing else occupies any",
        HowMany,
        $"""
        WITH {Standing}
        SELECT coalesce(s.kind, o.kind) || ' ' || coalesce(s.id, o.entry_id) AS "Value"
        FROM standing s FULL JOIN diary.occupied o ON o.entry_id = s.id
        WHERE NOT (o.entry_id IS NULL AND s.ends <= {RetentionRule.ClearedUntil(DiaryRetention.OccupiedPast)})
            AND ROW (s.kind, s.instructor_id, s.car_id, s.pupil_id, tstzrange(s.starts, s.ends)) IS DISTINCT FROM ROW (o.kind, o.instructor_id, o.car_id, o.pupil_id, o.during)
        ORDER BY 1
        """);

    private static readonly SqlInvariant SwapsAgreed = new(
        "swaps_agreed",
        "every swap that was carried out has the yes of both pupils, and none that has ended still holds a lesson",
        """SELECT count(*) AS "Value" FROM diary.proposals WHERE kind = 'Swap'""",
        """
        SELECT 'swap ' || p.id AS "Value"
        FROM diary.proposals p LEFT JOIN diary.swap_answers s ON s.proposal_id = p.id
        WHERE p.kind = 'Swap' GROUP BY p.id, p.state
        HAVING (p.state = 'Applied' AND count(*) FILTER (WHERE s.reply = 'Agreed') <> 2) OR (p.state <> 'Proposed' AND bool_or(s.open))
        ORDER BY 1
        """);

    // From the lessons, test days and times off themselves: whether the table that forbids it agrees with them is asked above.
    private static readonly SqlInvariant TakenOnce = new(
        "taken_once",
        "no instructor, pupil or car is in two lessons or test days at once, and nobody's times off overlap",
        $"""WITH {Standing} SELECT (SELECT count(*) FROM standing) + (SELECT count(*) FROM diary.time_off) AS "Value" """,
        $"""
        WITH {Standing},
        taken AS (
            SELECT kind, id, 'instructor' AS who, instructor_id AS subject, starts, ends FROM standing
            UNION ALL SELECT kind, id, 'pupil', pupil_id, starts, ends FROM standing
            UNION ALL SELECT kind, id, 'car', car_id, starts, ends FROM standing
            UNION ALL SELECT 'time off', id, 'away', instructor_id, starts_at, ends_at FROM diary.time_off),
        ordered AS (
            SELECT *, max(ends) OVER (PARTITION BY who, subject ORDER BY starts, id ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS taken_until
            FROM taken WHERE subject IS NOT NULL)
        SELECT DISTINCT kind || ' ' || id AS "Value" FROM ordered WHERE taken_until > starts ORDER BY 1
        """);

    // Each entry raised the count of its days when it came to stand there.
    private static readonly SqlInvariant DayVersions = new(
        "day_versions",
        "every day of an instructor or car has counted at least the entries that stand on it",
        """SELECT count(*) AS "Value" FROM diary.day_versions""",
        $"""
        WITH {Standing},
        days AS (
            SELECT subject, day::date AS day, count(*) AS entries
            FROM standing, unnest(ARRAY[instructor_id, car_id]) AS subject,
                generate_series((starts AT TIME ZONE 'UTC')::date, (ends AT TIME ZONE 'UTC')::date, interval '1 day') AS day
            WHERE subject IS NOT NULL GROUP BY 1, 2)
        SELECT d.day || ' of ' || d.subject AS "Value"
        FROM days d LEFT JOIN diary.day_versions v ON v.subject = d.subject AND v.day = d.day
        WHERE coalesce(v.version, 0) < d.entries
        UNION ALL SELECT 'the whole school' WHERE NOT EXISTS (
            SELECT FROM diary.day_versions WHERE day = '2000-01-01' AND subject = '00000000-0000-0000-0000-000000000000')
        ORDER BY 1
        """);
}
