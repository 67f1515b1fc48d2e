using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <summary>Pupils and contacts are found by the words of their names, whatever the accents.</summary>
    internal partial class FoundByWords : Migration
    {
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AlterDatabase()
                .Annotation("Npgsql:PostgresExtension:btree_gist", ",,")
                .Annotation("Npgsql:PostgresExtension:pg_trgm", ",,")
                .Annotation("Npgsql:PostgresExtension:unaccent", ",,")
                .OldAnnotation("Npgsql:PostgresExtension:btree_gist", ",,")
                .OldAnnotation("Npgsql:PostgresExtension:pg_trgm", ",,");
            migrationBuilder.Sql(
                """
                CREATE FUNCTION platform.plain(words text) RETURNS text LANGUAGE sql IMMUTABLE STRICT PARALLEL SAFE AS $$
                    SELECT ' ' || translate(lower(public.unaccent('public.unaccent'::regdictionary, words)), '-.,/()&"_:;''’‘`‐‑–—', '                   ') || ' '
                $$;
                CREATE INDEX pupils_name_plain ON pupils.pupils USING gin (platform.plain(name) public.gin_trgm_ops);
                CREATE INDEX contacts_name_plain ON people.contacts USING gin (platform.plain(name) public.gin_trgm_ops);
                """);
        }

        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.Sql("DROP INDEX pupils.pupils_name_plain; DROP INDEX people.contacts_name_plain; DROP FUNCTION platform.plain(text);");
            migrationBuilder.AlterDatabase()
                .Annotation("Npgsql:PostgresExtension:btree_gist", ",,")
                .Annotation("Npgsql:PostgresExtension:pg_trgm", ",,")
                .OldAnnotation("Npgsql:PostgresExtension:btree_gist", ",,")
                .OldAnnotation("Npgsql:PostgresExtension:pg_trgm", ",,")
                .OldAnnotation("Npgsql:PostgresExtension:unaccent", ",,");
        }
    }
}
