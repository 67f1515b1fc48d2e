using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;

#nullable disable

namespace School.Web.Platform.Database.Migrations;

/// <summary>Counts changes day by day; runs day-versions.sql for the triggers that count.</summary>
internal partial class DayVersions : Migration
{
    protected override void Up(MigrationBuilder migrationBuilder)
    {
        migrationBuilder.CreateTable(
            name: "day_versions",
            schema: "diary",
            columns: table => new
            {
                subject = table.Column<Guid>(type: "uuid", nullable: false),
                day = table.Column<LocalDate>(type: "date", nullable: false),
                version = table.Column<long>(type: "bigint", nullable: false),
            },
            constraints: table => table.PrimaryKey("pk_day_versions", x => new { x.day, x.subject }));

        using var stream = typeof(DayVersions).Assembly.GetManifestResourceStream("day-versions.sql");
        using var reader = new StreamReader(stream);
        migrationBuilder.Sql(reader.ReadToEnd());
    }
}
