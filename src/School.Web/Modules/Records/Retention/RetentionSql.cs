using School.Web.Modules.Records.Contracts;

namespace School.Web.Modules.Records.Retention;

/// <summary>The statements of a rule, put together from what the program's own modules say, and nothing else.</summary>
internal static class RetentionSql
{
    /// <summary>How many are due: those that a run takes.</summary>
    public static string CountDue(RetentionRule rule, int parameter) => $"(SELECT count(*) FROM {rule.Table} r WHERE {Due(rule, parameter)})";

    /// <summary>How many there are, counted no further than one more than so many.</summary>
    public static string CountStanding(RetentionRule rule, int most) => $"(SELECT count(*) FROM (SELECT FROM {rule.Table} r WHERE {rule.Of} LIMIT {most + 1}) AS few)";

    public static string Standing(RetentionRule rule) => $"SELECT 1 FROM {rule.Table} r WHERE {rule.Of}";

    /// <summary>The next of those that are due, oldest first, for nobody else to change.</summary>
    public static string Next(RetentionRule rule, string what, int most) =>
        $"SELECT {what} FROM {rule.Table} r WHERE {Due(rule, 0)} ORDER BY {rule.Since} LIMIT {most} FOR UPDATE OF r SKIP LOCKED";

    public static string DeleteNext(RetentionRule rule, int most) =>
        $"DELETE FROM {rule.Table} WHERE ctid = ANY (ARRAY({Next(rule, "r.ctid", most)}))";

    public static string DeleteThose(string table, string column) => $"DELETE FROM {table} WHERE {column} = ANY ({{0}})";

    private static string Due(RetentionRule rule, int parameter) => $"{rule.Of} AND {rule.Since} <= {{{parameter}}} AND {rule.MayGo}";
}
