using System.Text;

namespace School.Web.Platform.Operations;

/// <summary>What ends when everybody has to sign in anew: a statement, run where its table is there. A restored database may be older than the program.</summary>
/// <param name="Table">With its schema.</param>
/// <param name="Sql">One statement, every name with its schema.</param>
internal sealed record EndedByRenewal(string Table, string Sql);

/// <summary>Makes worthless what somebody may hold who has a copy: cookies, tokens, links, calendar addresses. Passwords stay.</summary>
internal static class Renewal
{
    /// <summary>
    /// The keys of cookies and links, revoked one by one rather than up to a moment: a key made under a clock that was ahead goes too.
    /// They stay readable for what an older version sealed with them. The format is the framework's.
    /// </summary>
    public static readonly EndedByRenewal CookieKeys = new("platform.data_protection_keys", """
        INSERT INTO platform.data_protection_keys (friendly_name, xml)
        SELECT 'revocation-' || key_id,
               '<revocation version="1"><revocationDate>' || to_char(now() AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"') || '</revocationDate>'
                   || '<key id="' || key_id || '" /><reason>Everybody signs in anew.</reason></revocation>'
        FROM (SELECT DISTINCT substring(xml FROM '^<key id="([0-9A-Fa-f-]{36})"') AS key_id FROM platform.data_protection_keys) AS keys
        WHERE key_id IS NOT NULL
        """);

    /// <summary>Kept answers may tell a secret, such as a new calendar address.</summary>
    public static readonly EndedByRenewal KeptAnswers = new("platform.idempotent_answers", "DELETE FROM platform.idempotent_answers");

    /// <summary>All of it as one statement.</summary>
    public static string Sql(IEnumerable<EndedByRenewal> ended)
    {
        var sql = new StringBuilder("DO $renewal$ BEGIN\n");
        foreach (var end in ended)
        {
            sql.Append("IF to_regclass('").Append(end.Table).Append("') IS NOT NULL THEN\n").Append(end.Sql).Append(";\nEND IF;\n");
        }

        return sql.Append("END $renewal$;\n").ToString();
    }
}
