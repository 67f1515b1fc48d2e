using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using Npgsql;
using School.Tests;
using School.Web.Modules.Diary.Events;
using School.Web.Tests.Host;

namespace School.Web.Tests.Diary.Events;

/// <summary>A small school whose changes somebody reads.</summary>
internal static class LiveSchool
{
    public static readonly Instant Thursday10 = DiaryApi.London(2026, 3, 5, 10);

    /// <summary>On a host of its own, which is quick to look again.</summary>
    public static async Task<SmallSchool> StartAsync(TestPostgres postgres, params (string Key, string Value)[] settings) =>
        await SmallSchool.OnAsync(await SchoolHost.StartAsync(postgres, settings: [("School:Live:LingerSeconds", "0"), .. settings]));

    /// <summary>Something that holds on every day changes, of which everybody is told: what was to come before it has come by then.</summary>
    public static Task ChangeSchoolAsync(this SchoolHost host) => host.SqlAsync("UPDATE diary.settings SET version = version");

    public static LiveDays Live(this SchoolHost host) => host.Services.GetRequiredService<LiveDays>();

    public static bool OfSchool(LiveChange change) => change.Kind == "school";

    /// <summary>As the owner of the database.</summary>
    public static async Task SqlAsync(this SchoolHost host, string sql)
    {
        await using var source = NpgsqlDataSource.Create(host.ConnectionString);
        await using var command = source.CreateCommand(sql);
        await command.ExecuteNonQueryAsync();
    }

    public static async Task<T> AskAsync<T>(this SchoolHost host, string sql)
    {
        await using var source = NpgsqlDataSource.Create(host.ConnectionString);
        await using var command = source.CreateCommand(sql);
        return (T)(await command.ExecuteScalarAsync())!;
    }
}
