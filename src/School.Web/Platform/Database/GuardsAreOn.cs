using School.Web.Platform.Operations;

namespace School.Web.Platform.Database;

internal static class GuardsAreOn
{
    /// <summary>Whoever switched a trigger off to mend something by hand may have forgotten to switch it on again.</summary>
    public static readonly IInvariant Invariant = new SqlInvariant(
        "guards_on",
        "every trigger of the schema is on and every constraint has been checked against its rows",
        """
        SELECT (SELECT count(*) FROM pg_trigger g JOIN pg_class t ON t.oid = g.tgrelid JOIN pg_namespace n ON n.oid = t.relnamespace WHERE n.nspname !~ '^pg_')
            + (SELECT count(*) FROM pg_constraint c JOIN pg_namespace n ON n.oid = c.connamespace WHERE n.nspname !~ '^(pg_|information_schema)') AS "Value"
        """,
        """
        SELECT 'trigger ' || g.tgname || ' on ' || g.tgrelid::regclass AS "Value" FROM pg_trigger g WHERE g.tgenabled NOT IN ('O', 'A')
        UNION ALL SELECT 'constraint ' || c.conname || ' on ' || c.conrelid::regclass FROM pg_constraint c WHERE NOT c.convalidated
        """);
}
