using System.Globalization;
using System.Runtime.Versioning;
using Npgsql;
using School.Web.Platform.LocalPostgres;

namespace School.Web.Tests.Host;

/// <summary>The schema of a database as pg_dump writes it: what a person would compare.</summary>
[UnsupportedOSPlatform("windows")]
internal static class SchemaDump
{
    public static async Task<string[]> OfAsync(string connectionString, params string[] options)
    {
        int major;
        await using (var connection = new NpgsqlConnection(connectionString))
        {
            await connection.OpenAsync();
            major = connection.PostgreSqlVersion.Major;
        }

        var to = new NpgsqlConnectionStringBuilder(connectionString);
        var start = Posix.Command(null, PostgresBinaries.FindClients(major).Program("pg_dump"), ["--schema-only", "--no-owner", .. options]);
        start.Environment["PGHOST"] = to.Host;
        start.Environment["PGPORT"] = to.Port.ToString(CultureInfo.InvariantCulture);
        start.Environment["PGUSER"] = to.Username;
        start.Environment["PGPASSWORD"] = to.Password;
        start.Environment["PGDATABASE"] = to.Database;
        var (exitCode, said) = await Posix.RunAsync(start);
        Assert.True(exitCode == 0, said);
        // Newer versions write a random word against injection into what psql reads.
        return [.. said.Split('\n').Where(line => !line.Contains("restrict ", StringComparison.Ordinal))];
    }
}
