using System.Collections.Concurrent;
using Microsoft.Extensions.Logging.Console;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Health;

/// <summary>
/// The console's log, except that a database which is away fills no disk: a kind of trouble says so in one line a minute, without the
/// calls that led there, and how many there were in between.
/// </summary>
[ProviderAlias("Console")]
internal sealed class CalmConsole(ILoggerProvider inner) : ILoggerProvider, ISupportExternalScope
{
    private const long Between = 60_000;
    private readonly ConcurrentDictionary<string, Told> told = new(StringComparer.Ordinal);

    public static void Use(ILoggingBuilder logging)
    {
        if (logging.Services.FirstOrDefault(s => s.ServiceType == typeof(ILoggerProvider) && s.ImplementationType == typeof(ConsoleLoggerProvider)) is not { } console)
        {
            return;
        }

        logging.Services.Remove(console);
        logging.Services.AddSingleton<ConsoleLoggerProvider>();
        logging.Services.AddSingleton<ILoggerProvider>(services => new CalmConsole(services.GetRequiredService<ConsoleLoggerProvider>()));
    }

    public ILogger CreateLogger(string categoryName) => new Calm(inner.CreateLogger(categoryName), categoryName, this);

    public void SetScopeProvider(IExternalScopeProvider scopeProvider) => (inner as ISupportExternalScope)?.SetScopeProvider(scopeProvider);

    public void Dispose() => inner.Dispose();

    /// <summary>Null while it is too soon; else how many were kept back.</summary>
    private int? Turn(string category)
    {
        var kind = told.GetOrAdd(category, _ => new());
        lock (kind)
        {
            var now = Environment.TickCount64;
            if (kind.Last is { } last && now - last < Between)
            {
                kind.Kept++;
                return null;
            }

            var kept = kind.Kept;
            (kind.Last, kind.Kept) = (now, 0);
            return kept;
        }
    }

    private sealed class Told
    {
        public long? Last { get; set; }

        public int Kept { get; set; }
    }

    private sealed class Calm(ILogger inner, string category, CalmConsole console) : ILogger
    {
        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => inner.BeginScope(state);

        public bool IsEnabled(LogLevel logLevel) => inner.IsEnabled(logLevel);

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter)
        {
            if (!ErrorHandling.IsDatabaseAway(exception))
            {
                inner.Log(logLevel, eventId, state, exception, formatter);
            }
            else if (inner.IsEnabled(logLevel) && console.Turn(category) is { } kept)
            {
                // Some put the whole exception into their words: the first line says what failed.
                var what = formatter(state, null).Split('\n', 2)[0].TrimEnd();
                var more = kept == 0 ? "" : $" ({kept} more of these in the minutes before)";
                inner.Log(logLevel, eventId, $"{what} The database is away: {exception!.GetBaseException().Message}{more}", null, static (words, _) => words);
            }
        }
    }
}
