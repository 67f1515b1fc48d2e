using System;
using System.Collections.Generic;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class Papers : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.RenameColumn(
                name: "provisional_from",
                schema: "pupils",
                table: "pupils",
                newName: "licence_from");

            migrationBuilder.AlterColumn<string>(
                name: "gearbox",
                schema: "pupils",
                table: "pupils",
                type: "text",
                nullable: true,
                oldClrType: typeof(string),
                oldType: "text");

            migrationBuilder.AlterColumn<LocalDate>(
                name: "birth_date",
                schema: "pupils",
                table: "pupils",
                type: "date",
                nullable: true,
                oldClrType: typeof(LocalDate),
                oldType: "date");

            migrationBuilder.AddColumn<LocalDate>(
                name: "disqualified_until",
                schema: "pupils",
                table: "pupils",
                type: "date",
                nullable: true);

            migrationBuilder.AddColumn<LocalDate>(
                name: "eyesight_failed_on",
                schema: "pupils",
                table: "pupils",
                type: "date",
                nullable: true);

            migrationBuilder.AddColumn<List<string>>(
                name: "licence_conditions",
                schema: "pupils",
                table: "pupils",
                type: "text[]",
                nullable: false,
                defaultValueSql: "'{}'");

            migrationBuilder.AddColumn<LocalDate>(
                name: "theory_seen_on",
                schema: "pupils",
                table: "pupils",
                type: "date",
                nullable: true);

            migrationBuilder.AddColumn<bool>(
                name: "licence_from_eea",
                schema: "pupils",
                table: "pupils",
                type: "boolean",
                nullable: false,
                defaultValue: false);

            migrationBuilder.AddColumn<string>(
                name: "licence_kind",
                schema: "pupils",
                table: "pupils",
                type: "text",
                nullable: false,
                defaultValue: "Provisional");

            migrationBuilder.AddColumn<Guid>(
                name: "licence_seen_by",
                schema: "pupils",
                table: "pupils",
                type: "uuid",
                nullable: true);

            migrationBuilder.AddColumn<LocalDate>(
                name: "licence_seen_on",
                schema: "pupils",
                table: "pupils",
                type: "date",
                nullable: true);

            migrationBuilder.AddColumn<LocalDate>(
                name: "licence_until",
                schema: "pupils",
                table: "pupils",
                type: "date",
                nullable: true);

            migrationBuilder.AddColumn<LocalDate>(
                name: "resident_since",
                schema: "pupils",
                table: "pupils",
                type: "date",
                nullable: true);

            migrationBuilder.AddColumn<Guid>(
                name: "theory_seen_by",
                schema: "pupils",
                table: "pupils",
                type: "uuid",
                nullable: true);

            migrationBuilder.AlterColumn<LocalDate>(
                name: "registered_to",
                schema: "people",
                table: "instructors",
                type: "date",
                nullable: true,
                oldClrType: typeof(LocalDate),
                oldType: "date");

            // For the rows that were there only.
            migrationBuilder.Sql("""
                ALTER TABLE pupils.pupils ALTER COLUMN licence_conditions DROP DEFAULT, ALTER COLUMN licence_kind DROP DEFAULT, ALTER COLUMN licence_from_eea DROP DEFAULT;
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "disqualified_until",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropColumn(
                name: "eyesight_failed_on",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropColumn(
                name: "licence_conditions",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropColumn(
                name: "theory_seen_on",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropColumn(
                name: "licence_from_eea",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropColumn(
                name: "licence_kind",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropColumn(
                name: "licence_seen_by",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropColumn(
                name: "licence_seen_on",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropColumn(
                name: "licence_until",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropColumn(
                name: "resident_since",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.DropColumn(
                name: "theory_seen_by",
                schema: "pupils",
                table: "pupils");

            migrationBuilder.RenameColumn(
                name: "licence_from",
                schema: "pupils",
                table: "pupils",
                newName: "provisional_from");

            migrationBuilder.AlterColumn<string>(
                name: "gearbox",
                schema: "pupils",
                table: "pupils",
                type: "text",
                nullable: false,
                defaultValue: "",
                oldClrType: typeof(string),
                oldType: "text",
                oldNullable: true);

            migrationBuilder.AlterColumn<LocalDate>(
                name: "birth_date",
                schema: "pupils",
                table: "pupils",
                type: "date",
                nullable: false,
                defaultValue: new NodaTime.LocalDate(1, 1, 1),
                oldClrType: typeof(LocalDate),
                oldType: "date",
                oldNullable: true);

            migrationBuilder.AlterColumn<LocalDate>(
                name: "registered_to",
                schema: "people",
                table: "instructors",
                type: "date",
                nullable: false,
                defaultValue: new NodaTime.LocalDate(1, 1, 1),
                oldClrType: typeof(LocalDate),
                oldType: "date",
                oldNullable: true);
        }
    }
}
