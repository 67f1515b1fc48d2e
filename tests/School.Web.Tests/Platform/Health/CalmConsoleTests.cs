using Microsoft.Extensions.Logging;
using Npgsql;
using School.Web.Platform.Health;

namespace School.Web.Tests.Platform.Health;

public sealed class CalmConsoleTests
{
    private readonly Lines lines = new();

    [Fact]
    public void A_database_that_is_away_takes_one_line_a_minute_and_kind()
    {
        using var calm = new CalmConsole(lines);
        var (pages, jobs) = (calm.CreateLogger("Pages"), calm.CreateLogger("Jobs"));
        for (var n = 0; n < 1000; n++)
        {
            Fail(pages, Away());
            Fail(jobs, new InvalidOperationException("A transient failure.", Away()));
        }

        Assert.Equal(["Pages: It failed. The database is away: Connection refused", "Jobs: It failed. The database is away: Connection refused"], lines.Told);
    }

    [Fact]
    public void Everything_else_is_told_whole()
    {
        using var calm = new CalmConsole(lines);
        var pages = calm.CreateLogger("Pages");
        Fail(pages, new InvalidOperationException("Our fault."));
        Fail(pages, new InvalidOperationException("Our fault."));
        Assert.Equal(2, lines.Told.Count);
        Assert.All(lines.Told, line => Assert.Contains("System.InvalidOperationException: Our fault.", line, StringComparison.Ordinal));
    }

    private static void Fail(ILogger log, Exception exception) =>
#pragma warning disable CA1848 // A test logs little.
        log.LogError(exception, "It failed.\nAnd at length.");
#pragma warning restore CA1848

    private static NpgsqlException Away() => new("Failed to connect", new System.Net.Sockets.SocketException((int)System.Net.Sockets.SocketError.ConnectionRefused));

    private sealed class Lines : ILoggerProvider
    {
        public List<string> Told { get; } = [];

        public ILogger CreateLogger(string categoryName) => new Log(categoryName, Told);

        public void Dispose()
        {
        }

        private sealed class Log(string category, List<string> told) : ILogger
        {
            public IDisposable? BeginScope<TState>(TState state)
                where TState : notnull => null;

            public bool IsEnabled(LogLevel logLevel) => true;

            void ILogger.Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter) =>
                told.Add($"{category}: {formatter(state, exception)}{exception}");
        }
    }
}
