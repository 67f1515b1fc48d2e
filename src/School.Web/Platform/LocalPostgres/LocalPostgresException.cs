namespace School.Web.Platform.LocalPostgres;

/// <summary>The private database cannot be used; the message tells the person who runs the service what to do.</summary>
internal sealed class LocalPostgresException(string message) : CannotStartException(message);
