using System;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations
{
    /// <inheritdoc />
    internal partial class PaperDates : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AlterColumn<string>(
                name: "registration",
                schema: "people",
                table: "instructors",
                type: "text",
                nullable: true,
                oldClrType: typeof(string),
                oldType: "text");

            migrationBuilder.AddColumn<Guid>(
                name: "registration_seen_by",
                schema: "people",
                table: "instructors",
                type: "uuid",
                nullable: true);

            migrationBuilder.AddColumn<LocalDate>(
                name: "registration_seen_on",
                schema: "people",
                table: "instructors",
                type: "date",
                nullable: true);

            migrationBuilder.AddColumn<Guid>(
                name: "insurance_seen_by",
                schema: "cars",
                table: "cars",
                type: "uuid",
                nullable: true);

            migrationBuilder.AddColumn<LocalDate>(
                name: "insurance_seen_on",
                schema: "cars",
                table: "cars",
                type: "date",
                nullable: true);

            migrationBuilder.AddColumn<Guid>(
                name: "mot_seen_by",
                schema: "cars",
                table: "cars",
                type: "uuid",
                nullable: true);

            migrationBuilder.AddColumn<LocalDate>(
                name: "mot_seen_on",
                schema: "cars",
                table: "cars",
                type: "date",
                nullable: true);

            migrationBuilder.AddColumn<Guid>(
                name: "service_seen_by",
                schema: "cars",
                table: "cars",
                type: "uuid",
                nullable: true);

            migrationBuilder.AddColumn<LocalDate>(
                name: "service_seen_on",
                schema: "cars",
                table: "cars",
                type: "date",
                nullable: true);

            migrationBuilder.AddColumn<Guid>(
                name: "tax_seen_by",
                schema: "cars",
                table: "cars",
                type: "uuid",
                nullable: true);

            migrationBuilder.AddColumn<LocalDate>(
                name: "tax_seen_on",
                schema: "cars",
                table: "cars",
                type: "date",
                nullable: true);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "registration_seen_by",
                schema: "people",
                table: "instructors");

            migrationBuilder.DropColumn(
                name: "registration_seen_on",
                schema: "people",
                table: "instructors");

            migrationBuilder.DropColumn(
                name: "insurance_seen_by",
                schema: "cars",
                table: "cars");

            migrationBuilder.DropColumn(
                name: "insurance_seen_on",
                schema: "cars",
                table: "cars");

            migrationBuilder.DropColumn(
                name: "mot_seen_by",
                schema: "cars",
                table: "cars");

            migrationBuilder.DropColumn(
                name: "mot_seen_on",
                schema: "cars",
                table: "cars");

            migrationBuilder.DropColumn(
                name: "service_seen_by",
                schema: "cars",
                table: "cars");

            migrationBuilder.DropColumn(
                name: "service_seen_on",
                schema: "cars",
                table: "cars");

            migrationBuilder.DropColumn(
                name: "tax_seen_by",
                schema: "cars",
                table: "cars");

            migrationBuilder.DropColumn(
                name: "tax_seen_on",
                schema: "cars",
                table: "cars");

            migrationBuilder.AlterColumn<string>(
                name: "registration",
                schema: "people",
                table: "instructors",
                type: "text",
                nullable: false,
                defaultValue: "",
                oldClrType: typeof(string),
                oldType: "text",
                oldNullable: true);
        }
    }
}
