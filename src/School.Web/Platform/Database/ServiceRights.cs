using Npgsql;

namespace School.Web.Platform.Database;

/// <summary>What the role of the service may do: read and write rows. Not change the schema, and not rewrite what is only ever added to.</summary>
internal static class ServiceRights
{
    // A table that is only added to is known by the trigger that refuses everything else (records.refuse_change), so that the two agree.
    private const string Grant = """
        DO $$ DECLARE
            service name := current_setting('school.service');
            one record;
        BEGIN
            PERFORM pg_advisory_xact_lock(hashtextextended('service rights', 0));
            FOR one IN SELECT nspname AS schema FROM pg_namespace WHERE nspname NOT IN ('information_schema', 'public') AND nspname !~ '^pg_' LOOP
                EXECUTE format('GRANT USAGE ON SCHEMA %I TO %I', one.schema, service);
                EXECUTE format('REVOKE ALL ON ALL TABLES IN SCHEMA %I FROM %I', one.schema, service);
                EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA %I TO %I', one.schema, service);
                EXECUTE format('GRANT SELECT, USAGE, UPDATE ON ALL SEQUENCES IN SCHEMA %I TO %I', one.schema, service);
            END LOOP;
            FOR one IN SELECT g.tgrelid::regclass AS guarded FROM pg_trigger g JOIN pg_proc f ON f.oid = g.tgfoid WHERE f.proname = 'refuse_change' LOOP
                EXECUTE format('REVOKE UPDATE, DELETE ON %s FROM %I', one.guarded, service);
            END LOOP;
            IF to_regclass('platform.migrations') IS NOT NULL THEN
                EXECUTE format('REVOKE INSERT, UPDATE, DELETE ON platform.migrations FROM %I', service);
            END IF;
        END $$;
        """;

    /// <summary>Gives the role of the service its rights on all that is there now, and no more. Does nothing where it is the owner itself.</summary>
    /// <exception cref="CannotStartException">There is no such role, or it has more rights than these.</exception>
    public static async Task GrantAsync(DatabaseConnections connections, CancellationToken cancel)
    {
        if (!connections.Parted)
        {
            return;
        }

        var service = new NpgsqlConnectionStringBuilder(connections.Service).Username!;
        await using var connection = new NpgsqlConnection(new NpgsqlConnectionStringBuilder(connections.Owner) { Pooling = false }.ConnectionString);
        await connection.OpenAsync(cancel);
        await RefuseUnfitAsync(connection, service, cancel);
        await using var transaction = await connection.BeginTransactionAsync(cancel);
        await using (var who = new NpgsqlCommand("SELECT set_config('school.service', $1, true)", connection, transaction) { Parameters = { new() { Value = service } } })
        {
            await who.ExecuteNonQueryAsync(cancel);
        }

        await using (var grant = new NpgsqlCommand(Grant, connection, transaction))
        {
            await grant.ExecuteNonQueryAsync(cancel);
        }

        await transaction.CommitAsync(cancel);
    }

    /// <summary>Rights taken away mean nothing to a superuser, or to a role that can become the owner.</summary>
    private static async Task RefuseUnfitAsync(NpgsqlConnection connection, string service, CancellationToken cancel)
    {
        await using var look = new NpgsqlCommand(
            "SELECT r.rolsuper OR pg_has_role(r.oid, current_user, 'MEMBER') FROM pg_roles r WHERE r.rolname = $1", connection)
        {
            Parameters = { new() { Value = service } },
        };
        switch (await look.ExecuteScalarAsync(cancel))
        {
            case null:
                throw new CannotStartException(
                    $"The database has no role {service}, which ConnectionStrings__School names. Make it as a superuser, then run this again: "
                    + $"CREATE ROLE {service} LOGIN PASSWORD '…'; GRANT {service} TO {new NpgsqlConnectionStringBuilder(connection.ConnectionString).Username};");
            case true:
                throw new CannotStartException(
                    $"The role {service}, which ConnectionStrings__School names, owns the schema or is a superuser, so no right can be kept from it. "
                    + "Give the service a role of its own, or leave ConnectionStrings__SchoolOwner out.");
        }
    }
}
