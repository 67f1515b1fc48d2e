using NodaTime;

namespace School.Web.Modules.Messages.Contracts;

/// <summary>Told when a letter of a kind has gone; filled by the module that keeps that with what the letter is about.</summary>
internal interface IHeedSent
{
    string Kind { get; }

    /// <param name="aboutId">What the letter is about.</param>
    /// <param name="key">Its natural key.</param>
    /// <param name="at">When it went.</param>
    /// <param name="cancel">Stops.</param>
    Task WentAsync(Guid aboutId, string key, Instant at, CancellationToken cancel);
}
