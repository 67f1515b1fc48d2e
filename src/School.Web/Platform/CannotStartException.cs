namespace School.Web.Platform;

/// <summary>The service or one of its commands cannot begin; the message tells the person who runs it what to do, and is all they see.</summary>
internal class CannotStartException(string message) : Exception(message);
