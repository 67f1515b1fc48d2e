using System.Data.Common;

namespace School.Web.Platform.Database;

/// <summary>
/// How the service uses a connection again: statements that come back are planned once, and nothing is reset between two
/// requests, because nothing that the service sends outlives its transaction. Settings are made with SET LOCAL, locks are
/// of the transaction, and there are no temporary tables. What the connection string says itself stays.
/// </summary>
internal static class ConnectionReuse
{
    private static readonly (string Keyword, string Value)[] Usual =
        [("Max Auto Prepare", "200"), ("Auto Prepare Min Usages", "2"), ("No Reset On Close", "true")];

    public static string Of(string connectionString)
    {
        var to = new DbConnectionStringBuilder { ConnectionString = connectionString };
        // A keyword may be written with its spaces or without.
        var said = to.Keys.Cast<string>().Select(Bare).ToHashSet(StringComparer.OrdinalIgnoreCase);
        foreach (var (keyword, value) in Usual)
        {
            if (!said.Contains(Bare(keyword)))
            {
                to[keyword] = value;
            }
        }

        return to.ConnectionString;
    }

    private static string Bare(string keyword) => keyword.Replace(" ", "", StringComparison.Ordinal);
}
