using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.EntityFrameworkCore.Migrations;

namespace School.Web.Platform.Database.Migrations;

/// <summary>Runs guards.sql: constraints and triggers that the model cannot say.</summary>
[DbContext(typeof(SchoolDb))]
[Migration("20261125110000_Guards")]
internal sealed class Guards : Migration
{
    protected override void Up(MigrationBuilder migrationBuilder)
    {
        using var stream = typeof(Guards).Assembly.GetManifestResourceStream("guards.sql")!;
        using var reader = new StreamReader(stream);
        migrationBuilder.Sql(reader.ReadToEnd());
    }
}
