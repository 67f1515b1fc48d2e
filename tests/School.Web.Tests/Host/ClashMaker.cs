using Npgsql;

namespace School.Web.Tests.Host;

internal enum ClashAt
{
    Nowhere,

    /// <summary>In the first statement that writes.</summary>
    Statement,

    Commit,
}

/// <summary>
/// Makes the real database fail as it does when two transactions stand in each other's way: the next statement that writes, or
/// the next COMMIT, is refused once with the given code, and what follows goes through. Notes besides what was changed in the end.
/// </summary>
/// <remarks>
/// Sequences are not rolled back, so the first try uses the failure up. The notes are rows, so those of a try that failed are gone.
/// Its functions run as their owner, because the service may not look into their schema.
/// The triggers of COMMIT are deferred constraint triggers, which PostgreSQL fires there, before anything is durable.
/// </remarks>
internal sealed class ClashMaker : IAsyncDisposable
{
    public const string Deadlock = "40P01";
    public const string Serialisation = "40001";

    private const string SetUp =
        """
        CREATE SCHEMA clash;
        CREATE SEQUENCE clash.failures;
        CREATE TABLE clash.wanted (at text NOT NULL, code text NOT NULL);
        INSERT INTO clash.wanted VALUES ('Nowhere', '40P01');
        CREATE TABLE clash.changes (place bigint GENERATED ALWAYS AS IDENTITY, what text NOT NULL);

        CREATE FUNCTION clash.fail() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER AS $$
        DECLARE wanted record;
        BEGIN
            SELECT * INTO wanted FROM clash.wanted;
            IF wanted.at = TG_ARGV[0] AND nextval('clash.failures') = 1 THEN
                RAISE EXCEPTION 'clash made at %', TG_ARGV[0] USING ERRCODE = wanted.code;
            END IF;
            RETURN NULL;
        END $$;

        CREATE FUNCTION clash.note() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER AS $$
        DECLARE
            line jsonb := to_jsonb(CASE TG_OP WHEN 'DELETE' THEN OLD ELSE NEW END);
            before jsonb := CASE TG_OP WHEN 'UPDATE' THEN to_jsonb(OLD) ELSE line END;
        BEGIN
            INSERT INTO clash.changes (what) VALUES (concat_ws(
                ' ', lower(TG_OP), TG_TABLE_SCHEMA || '.' || TG_TABLE_NAME, coalesce(line ->> 'what', line ->> 'kind', line ->> 'state'),
                (SELECT string_agg(after.key, ',' ORDER BY after.key COLLATE "C") FROM jsonb_each(line) AS after WHERE before -> after.key IS DISTINCT FROM after.value),
                CASE WHEN TG_TABLE_NAME <> 'day_versions' THEN 'version ' || CASE TG_OP
                    WHEN 'UPDATE' THEN '+' || ((line ->> 'version')::bigint - (before ->> 'version')::bigint) ELSE line ->> 'version' END END));
            RETURN NULL;
        END $$;

        DO $$
        DECLARE name regclass;
        BEGIN
            FOR name IN
                SELECT c.oid FROM pg_class AS c JOIN pg_namespace AS n ON n.oid = c.relnamespace
                WHERE c.relkind = 'r' AND n.nspname NOT LIKE 'pg\_%' AND n.nspname NOT IN ('information_schema', 'hangfire', 'clash', 'public')
                    AND c.relname NOT IN ('migrations', 'data_protection_keys')
            LOOP
                EXECUTE format('CREATE TRIGGER clash_statement BEFORE INSERT OR UPDATE OR DELETE ON %s FOR EACH STATEMENT EXECUTE FUNCTION clash.fail(''Statement'')', name);
                EXECUTE format('CREATE CONSTRAINT TRIGGER clash_commit AFTER INSERT OR UPDATE OR DELETE ON %s DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION clash.fail(''Commit'')', name);
                EXECUTE format('CREATE TRIGGER clash_note AFTER INSERT OR UPDATE OR DELETE ON %s FOR EACH ROW EXECUTE FUNCTION clash.note()', name);
            END LOOP;
        END $$;
        """;

    private readonly NpgsqlDataSource _source;

    private ClashMaker(string connectionString) => _source = NpgsqlDataSource.Create(connectionString);

    public static async Task<ClashMaker> OnAsync(SchoolHost host)
    {
        // Migrated by now, also where the host has not been asked anything yet.
        _ = host.Services;
        var maker = new ClashMaker(host.ConnectionString);
        await maker.DoAsync(SetUp);
        return maker;
    }

    /// <summary>The next write fails there with that code, once; the notes begin anew.</summary>
    public async Task ArmAsync(ClashAt at, string code)
    {
        await DoAsync($"UPDATE clash.wanted SET at = '{at}', code = '{code}'; DELETE FROM clash.changes; SELECT setval('clash.failures', 1, false)");
    }

    /// <summary>No more failures; says whether there was one, and what was changed since in the end, in a fixed order.</summary>
    public async Task<(bool Failed, IReadOnlyList<string> Changes)> DisarmAsync()
    {
        await DoAsync("UPDATE clash.wanted SET at = 'Nowhere'");
        await using var failed = _source.CreateCommand("SELECT is_called FROM clash.failures");
        var did = (bool)(await failed.ExecuteScalarAsync())!;
        await using var ask = _source.CreateCommand("SELECT what FROM clash.changes ORDER BY what COLLATE \"C\"");
        await using var reader = await ask.ExecuteReaderAsync();
        var changes = new List<string>();
        while (await reader.ReadAsync())
        {
            changes.Add(reader.GetString(0));
        }

        return (did, changes);
    }

    public ValueTask DisposeAsync() => _source.DisposeAsync();

    private async Task DoAsync(string sql)
    {
        await using var command = _source.CreateCommand(sql);
        await command.ExecuteNonQueryAsync();
    }
}
