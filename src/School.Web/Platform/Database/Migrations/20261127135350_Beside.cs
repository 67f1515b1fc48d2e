using System;
using System.Collections.Generic;
using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class Beside : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<List<Guid>>(
                name: "letters_to",
                schema: "pupils",
                table: "pupils",
                type: "uuid[]",
                nullable: false,
                defaultValueSql: "'{}'");

            migrationBuilder.CreateTable(
                name: "beside",
                schema: "pupils",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    pupil_id = table.Column<Guid>(type: "uuid", nullable: false),
                    contact_id = table.Column<Guid>(type: "uuid", nullable: false),
                    relation = table.Column<string>(type: "text", nullable: false),
                    sees = table.Column<string[]>(type: "text[]", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_beside", x => x.id);
                    table.ForeignKey(
                        name: "fk_beside_pupil_pupil_id",
                        column: x => x.pupil_id,
                        principalSchema: "pupils",
                        principalTable: "pupils",
                        principalColumn: "id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "contacts",
                schema: "people",
                columns: table => new
                {
                    id = table.Column<Guid>(type: "uuid", nullable: false),
                    name = table.Column<string>(type: "text", nullable: false),
                    email = table.Column<string>(type: "text", nullable: false),
                    phone = table.Column<string>(type: "text", nullable: false),
                    kind = table.Column<string>(type: "text", nullable: false),
                    version = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("pk_contacts", x => x.id);
                });

            migrationBuilder.CreateIndex(
                name: "ix_beside_contact_id",
                schema: "pupils",
                table: "beside",
                column: "contact_id");

            migrationBuilder.CreateIndex(
                name: "ix_beside_pupil_id_contact_id",
                schema: "pupils",
                table: "beside",
                columns: new[] { "pupil_id", "contact_id" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "contacts_name_parts",
                schema: "people",
                table: "contacts",
                column: "name")
                .Annotation("Npgsql:IndexMethod", "gin")
                .Annotation("Npgsql:IndexOperators", new[] { "gin_trgm_ops" });

            migrationBuilder.CreateIndex(
                name: "ix_contacts_name_id",
                schema: "people",
                table: "contacts",
                columns: new[] { "name", "id" });

            migrationBuilder.Sql(
                "ALTER TABLE pupils.beside ADD CONSTRAINT beside_contact_fk FOREIGN KEY (contact_id) REFERENCES people.contacts (id) DEFERRABLE INITIALLY DEFERRED");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "beside",
                schema: "pupils");

            migrationBuilder.DropTable(
                name: "contacts",
                schema: "people");

            migrationBuilder.DropColumn(
                name: "letters_to",
                schema: "pupils",
                table: "pupils");
        }
    }
}
