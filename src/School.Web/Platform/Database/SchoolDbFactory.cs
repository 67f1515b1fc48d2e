using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Design;

namespace School.Web.Platform.Database;

/// <summary>How the context is set up, for the service and for the migration tool alike.</summary>
internal sealed class SchoolDbFactory : IDesignTimeDbContextFactory<SchoolDb>
{
    public SchoolDb CreateDbContext(string[] args) =>
        new((DbContextOptions<SchoolDb>)Configure(new DbContextOptionsBuilder<SchoolDb>(), "Host=localhost;Database=school").Options);

    public static DbContextOptionsBuilder Configure(DbContextOptionsBuilder options, string connectionString) => options
        .UseNpgsql(connectionString, npgsql => npgsql.UseNodaTime().MigrationsHistoryTable("migrations", "platform"))
        .UseSnakeCaseNamingConvention()
        .AddInterceptors(GivenAnswers.Instance);
}
