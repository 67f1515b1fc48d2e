using Microsoft.Extensions.Caching.Memory;
using NodaTime;

namespace School.Web.Modules.Messages.Writing;

/// <summary>
/// Subjects of letters that were listed a moment ago: a page words fifty, nearly always the same. What a letter says stays as it was written or is
/// kept no longer; so its id, what else may change of it, and the letterhead are all that its subject is made of.
/// </summary>
internal sealed class KnownSubjects : IDisposable
{
    private const int Most = 2000;
    private static readonly TimeSpan Kept = TimeSpan.FromMinutes(10);
    private readonly MemoryCache _known = new(new MemoryCacheOptions { SizeLimit = Most });

    public string? Find(ListedMessage message, Letterhead head) => _known.Get<string>(Key.Of(message, head));

    public string Keep(ListedMessage message, Letterhead head, string subject) =>
        _known.Set(Key.Of(message, head), subject, new MemoryCacheEntryOptions { Size = 1, AbsoluteExpirationRelativeToNow = Kept });

    public void Dispose() => _known.Dispose();

    private sealed record Key(Guid Id, string ToName, Instant DueAt, bool Speaks, Letterhead Head)
    {
        public static Key Of(ListedMessage message, Letterhead head) => new(message.Row.Id, message.Row.ToName, message.Row.DueAt, message.Speaks, head);
    }
}
