using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class PartsOfLists : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AlterDatabase()
                .Annotation("Npgsql:PostgresExtension:btree_gist", ",,")
                .Annotation("Npgsql:PostgresExtension:pg_trgm", ",,")
                .OldAnnotation("Npgsql:PostgresExtension:btree_gist", ",,");

            migrationBuilder.CreateIndex(
                name: "ix_test_days_entered_at",
                schema: "diary",
                table: "test_days",
                column: "entered_at");

            migrationBuilder.CreateIndex(
                name: "pupils_email_parts",
                schema: "pupils",
                table: "pupils",
                column: "email")
                .Annotation("Npgsql:IndexMethod", "gin")
                .Annotation("Npgsql:IndexOperators", new[] { "gin_trgm_ops" });

            migrationBuilder.CreateIndex(
                name: "pupils_learning",
                schema: "pupils",
                table: "pupils",
                column: "id",
                filter: "retired_on IS NULL");

            migrationBuilder.CreateIndex(
                name: "pupils_learning_by_name",
                schema: "pupils",
                table: "pupils",
                column: "name",
                filter: "retired_on IS NULL");

            migrationBuilder.CreateIndex(
                name: "pupils_name_parts",
                schema: "pupils",
                table: "pupils",
                column: "name")
                .Annotation("Npgsql:IndexMethod", "gin")
                .Annotation("Npgsql:IndexOperators", new[] { "gin_trgm_ops" });

            migrationBuilder.CreateIndex(
                name: "pupils_phone_parts",
                schema: "pupils",
                table: "pupils",
                column: "phone")
                .Annotation("Npgsql:IndexMethod", "gin")
                .Annotation("Npgsql:IndexOperators", new[] { "gin_trgm_ops" });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "ix_test_days_entered_at",
                schema: "diary",
                table: "test_days");

            migrationBuilder.DropIndex(
                name: "pupils_email_parts",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropIndex(
                name: "pupils_learning",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropIndex(
                name: "pupils_learning_by_name",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropIndex(
                name: "pupils_name_parts",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropIndex(
                name: "pupils_phone_parts",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.AlterDatabase()
                .Annotation("Npgsql:PostgresExtension:btree_gist", ",,")
                .OldAnnotation("Npgsql:PostgresExtension:btree_gist", ",,")
                .OldAnnotation("Npgsql:PostgresExtension:pg_trgm", ",,");
        }
    }
}
