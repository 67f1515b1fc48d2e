using System.Diagnostics;
using System.Globalization;
using System.Runtime.Versioning;
using Npgsql;
using School.Web.Platform.LocalPostgres;

namespace School.Web.Platform.Operations;

/// <summary>PostgreSQL's own programs, told where the database is.</summary>
[UnsupportedOSPlatform("windows")]
internal sealed class DatabaseClient(string connectionString)
{
    /// <summary>A connection that is no pool's, so that nothing of ours stays connected.</summary>
    public async Task<NpgsqlConnection> OpenAsync(CancellationToken cancel)
    {
        var connection = new NpgsqlConnection(new NpgsqlConnectionStringBuilder(connectionString) { Pooling = false }.ConnectionString);
        await connection.OpenAsync(cancel);
        return connection;
    }

    public async Task<(int Major, long Tables, long OtherSessions)> LookAsync(CancellationToken cancel)
    {
        await using var connection = await OpenAsync(cancel);
        await using var command = new NpgsqlCommand("""
            SELECT (SELECT count(*) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
                    WHERE c.relkind IN ('r', 'p') AND n.nspname <> 'information_schema' AND n.nspname !~ '^pg_'),
                   (SELECT count(*) FROM pg_stat_activity
                    WHERE datname = current_database() AND usesysid IS NOT NULL AND pid <> pg_backend_pid()
                        AND coalesce(backend_type, 'client backend') = 'client backend')
            """, connection);
        await using var reader = await command.ExecuteReaderAsync(cancel);
        await reader.ReadAsync(cancel);
        return (connection.PostgreSqlVersion.Major, reader.GetInt64(0), reader.GetInt64(1));
    }

    // Everything about the connection goes through the environment: command lines can be read by other accounts.
    public ProcessStartInfo Program(int serverMajor, string program, params string[] arguments)
    {
        var start = Posix.Command(null, PostgresBinaries.FindClients(serverMajor).Program(program), arguments);
        var to = new NpgsqlConnectionStringBuilder(connectionString);
        Dictionary<string, string?> settings = new()
        {
            ["PGHOST"] = to.Host,
            ["PGPORT"] = to.Port.ToString(CultureInfo.InvariantCulture),
            ["PGUSER"] = to.Username,
            ["PGPASSWORD"] = to.Password,
            ["PGPASSFILE"] = to.Passfile,
            ["PGDATABASE"] = to.Database ?? to.Username,
            ["PGSSLMODE"] = to.SslMode switch
            {
                SslMode.VerifyCA => "verify-ca",
                SslMode.VerifyFull => "verify-full",
                var mode => mode.ToString().ToLowerInvariant(),
            },
            ["PGSSLROOTCERT"] = to.RootCertificate,
            ["PGSSLCERT"] = to.SslCertificate,
            ["PGSSLKEY"] = to.SslKey,
            ["PGCLIENTENCODING"] = "UTF8",
        };
        foreach (var (name, value) in settings.Where(setting => !string.IsNullOrEmpty(setting.Value)))
        {
            start.Environment[name] = value;
        }

        return start;
    }
}
