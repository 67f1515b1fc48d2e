using System.Collections.Concurrent;
using Microsoft.AspNetCore.Hosting;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using School.Tests;
using School.Web.Platform.Database;
using School.Web.Tests.Host;

namespace School.Web.Tests.Platform.Database;

public sealed class SlowStatementsTests(TestPostgres postgres)
{
    [Theory]
    [InlineData("100", true)]
    [InlineData("60000", false)]
    [InlineData("0", false)]
    public async Task A_statement_that_takes_longer_than_the_school_allows_is_written_down_without_its_values(string most, bool written)
    {
        using var log = new Lines();
        await using var host = await SchoolHost.StartAsync(postgres, settings: ("Database:SlowMilliseconds", most));
        await using var listened = host.WithWebHostBuilder(builder => builder.ConfigureLogging(logging => logging.AddProvider(log)));
        await using var scope = listened.Services.CreateAsyncScope();
        var db = scope.ServiceProvider.GetRequiredService<SchoolDb>();
        var name = "Fern Holloway";
        await db.Database.SqlQuery<string>($"SELECT {name} || pg_sleep(0.2)::text AS \"Value\"").ToListAsync(TestContext.Current.CancellationToken);
        await db.Database.SqlQuery<string>($"SELECT {name} || 'at once' AS \"Value\"").ToListAsync(TestContext.Current.CancellationToken);
        var together = new ReadTogether(db);
        together.Ask(db.Database.SqlQuery<string>($"SELECT {name} || 'among others' || pg_sleep(0.2)::text AS \"Value\""));
        await together.RunAsync(TestContext.Current.CancellationToken);
        var slow = log.Written.Where(line => line.Contains("A statement took", StringComparison.Ordinal)).ToList();
        Assert.Equal(written, slow.Exists(line => line.Contains("|| pg_sleep", StringComparison.Ordinal)));
        Assert.Equal(written, slow.Exists(line => line.Contains("among others", StringComparison.Ordinal)));
        Assert.DoesNotContain(slow, line => line.Contains("Holloway", StringComparison.Ordinal) || line.Contains("at once", StringComparison.Ordinal));
    }

    private sealed class Lines : ILoggerProvider, ILogger
    {
        private readonly ConcurrentQueue<string> written = new();

        public IReadOnlyCollection<string> Written => written;

        public ILogger CreateLogger(string categoryName) => this;

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => logLevel >= LogLevel.Warning;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter) =>
            written.Enqueue(formatter(state, exception));

        public void Dispose()
        {
        }
    }
}
