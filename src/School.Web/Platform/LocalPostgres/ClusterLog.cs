namespace School.Web.Platform.LocalPostgres;

internal static partial class ClusterLog
{
    [LoggerMessage(1, LogLevel.Information, "Making the private database in {Folder}")]
    public static partial void Making(ILogger log, string folder);

    [LoggerMessage(2, LogLevel.Information, "Private database ready: PostgreSQL {Major}, process {ProcessId}, socket folder {Socket}, port {Port}")]
    public static partial void Ready(ILogger log, int major, int processId, string socket, int port);

    [LoggerMessage(3, LogLevel.Warning, "Ending {Count} database processes left by an earlier run in {Folder}")]
    public static partial void EndingLeftovers(ILogger log, int count, string folder);

    [LoggerMessage(4, LogLevel.Error, "The private database stopped by itself (exit code {ExitCode}); starting it again in {Delay}")]
    public static partial void Died(ILogger log, int exitCode, TimeSpan delay);

    [LoggerMessage(5, LogLevel.Error, "The private database could not be started again; the next attempt follows")]
    public static partial void RestartFailed(ILogger log, Exception exception);

    [LoggerMessage(6, LogLevel.Warning, "Port {Port} is taken by another program; the private database listens on its socket only")]
    public static partial void PortTaken(ILogger log, int port);

    [LoggerMessage(7, LogLevel.Information, "Private database stopped")]
    public static partial void Stopped(ILogger log);

    [LoggerMessage(8, LogLevel.Warning, "The private database did not stop in time and was cut off; it recovers at the next start")]
    public static partial void CutOff(ILogger log);

    [LoggerMessage(9, LogLevel.Debug, "{Line}")]
    public static partial void Server(ILogger log, string line);

    [LoggerMessage(10, LogLevel.Warning, "{Line}")]
    public static partial void ServerTrouble(ILogger log, string line);
}
