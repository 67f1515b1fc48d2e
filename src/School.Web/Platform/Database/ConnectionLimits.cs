using Npgsql;

namespace School.Web.Platform.Database;

/// <summary>
/// How long the service waits for its database before it says that it does not answer: a person gives up sooner than the
/// library's usual half minute a statement. What the connection string says itself stays.
/// </summary>
internal static class ConnectionLimits
{
    private const int ConnectSeconds = 5;
    private const int StatementSeconds = 15;
    private const int CancelMilliseconds = 1000;
    private static readonly NpgsqlConnectionStringBuilder Usual = new();

    public static string Of(string connectionString)
    {
        var to = new NpgsqlConnectionStringBuilder(connectionString);
        to.Timeout = to.Timeout == Usual.Timeout ? ConnectSeconds : to.Timeout;
        to.CommandTimeout = to.CommandTimeout == Usual.CommandTimeout ? StatementSeconds : to.CommandTimeout;
        to.CancellationTimeout = to.CancellationTimeout == Usual.CancellationTimeout ? CancelMilliseconds : to.CancellationTimeout;
        return to.ConnectionString;
    }
}
