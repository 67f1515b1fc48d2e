using System.Data;
using System.Globalization;
using Microsoft.AspNetCore.DataProtection.KeyManagement;
using Microsoft.EntityFrameworkCore;
using Npgsql;
using School.Web.Platform.Database;

namespace School.Web.Platform.Operations;

/// <summary><c>check</c>: one line for each invariant, on a database that may be in use. It reads only.</summary>
internal static class CheckCommand
{
    private const int MostNamed = 20;

    // Some go through every letter that was ever written.
    private static readonly TimeSpan LongestLook = TimeSpan.FromHours(1);

    /// <summary>A connection on which every attempt to write is an error.</summary>
    public static string ReadOnly(string connectionString)
    {
        var builder = new NpgsqlConnectionStringBuilder(connectionString);
        builder.Options = $"{builder.Options} -c default_transaction_read_only=on".TrimStart();
        return builder.ConnectionString;
    }

    /// <summary>Leaves out of the service what would write, or would say more than the lines.</summary>
    public static void Quieten(IHostApplicationBuilder builder)
    {
        builder.Services.Configure<KeyManagementOptions>(keys => keys.AutoGenerateKeys = false);
        builder.Logging.AddFilter((_, level) => level >= LogLevel.Critical);
    }

    /// <summary>0 when all hold, 1 when one does not or could not be looked at.</summary>
    /// <exception cref="CannotStartException">There is no database to look at, or it is not up to date.</exception>
    public static async Task<int> RunAsync(IServiceProvider services, string connectionString, TextWriter output, CancellationToken cancel)
    {
        await BeforeMigrating.ReachAsync(connectionString, cancel);
        await RefuseOutdatedAsync(services, cancel);
        string[] codes;
        await using (var scope = services.CreateAsyncScope())
        {
            codes = [.. scope.ServiceProvider.GetServices<IInvariant>().Select(invariant => invariant.Code).Order(StringComparer.Ordinal)];
        }

        var all = true;
        foreach (var code in codes)
        {
            // A scope each: what one could not read may not trouble the next.
            await using var scope = services.CreateAsyncScope();
            var invariant = scope.ServiceProvider.GetServices<IInvariant>().Single(invariant => invariant.Code == code);
            var (holds, words) = await LookAsync(invariant, scope.ServiceProvider.GetRequiredService<SchoolDb>(), cancel);
            all &= holds;
            await output.WriteLineAsync($"{(holds ? "holds " : "broken")} {code}: {invariant.Sentence}; {words}");
        }

        return all ? 0 : 1;
    }

    private static async Task<(bool Holds, string Words)> LookAsync(IInvariant invariant, SchoolDb db, CancellationToken cancel)
    {
        try
        {
            db.Database.SetCommandTimeout(LongestLook);
            await using var moment = await db.Database.BeginTransactionAsync(IsolationLevel.RepeatableRead, cancel);
            await db.Database.ExecuteSqlAsync($"SET TRANSACTION READ ONLY", cancel);
            var found = await invariant.LookAsync(db, cancel);
            return (found.Broken.Count == 0, WordsOf(found));
        }
        catch (Exception problem) when (problem is not OperationCanceledException)
        {
            return (false, $"could not be looked at: {problem.Message.ReplaceLineEndings(" ")}");
        }
    }

    private static string WordsOf(Finding found)
    {
        var looked = found.LookedAt.ToString(CultureInfo.InvariantCulture);
        if (found.Broken.Count == 0)
        {
            return $"{looked} looked at";
        }

        var more = found.Broken.Count > MostNamed ? $", and {found.Broken.Count - MostNamed} more" : "";
        return string.Create(CultureInfo.InvariantCulture, $"not so for {found.Broken.Count} of {looked}: {string.Join(", ", found.Broken.Take(MostNamed))}{more}");
    }

    private static async Task RefuseOutdatedAsync(IServiceProvider services, CancellationToken cancel)
    {
        await using var scope = services.CreateAsyncScope();
        var missing = (await scope.ServiceProvider.GetRequiredService<SchoolDb>().Database.GetPendingMigrationsAsync(cancel)).ToList();
        if (missing.Count > 0)
        {
            throw new CannotStartException($"The database is not up to date: it lacks {missing[0]}. Run migrate first, then check.");
        }
    }
}
