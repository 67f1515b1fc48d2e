using System.Security.Cryptography;
using System.Text;
using Microsoft.Extensions.Caching.Memory;

namespace School.Web.Modules.Messages.Writing;

/// <summary>
/// Subjects of letters that were listed a moment ago: a page words fifty, nearly always the same. A subject is known by everything that it is made
/// of, so one of other facts, another name or another letterhead is never taken for it.
/// </summary>
internal sealed class KnownSubjects : IDisposable
{
    private const int Most = 2000;
    private static readonly TimeSpan Kept = TimeSpan.FromMinutes(10);
    private readonly MemoryCache _known = new(new MemoryCacheOptions { SizeLimit = Most });

    public string Of(Message message, Letterhead head, Func<string> make)
    {
        var key = (head, Digest(message));
        if (_known.TryGetValue(key, out string? subject))
        {
            return subject!;
        }

        subject = make();
        _known.Set(key, subject, new MemoryCacheEntryOptions { Size = 1, AbsoluteExpirationRelativeToNow = Kept });
        return subject;
    }

    public void Dispose() => _known.Dispose();

    private static UInt128 Digest(Message message)
    {
        Span<byte> digest = stackalloc byte[SHA256.HashSizeInBytes];
        var text = $"{message.Kind}\0{message.Receiver}\0{message.AboutId:N}\0{message.DueAt.ToUnixTimeTicks()}\0{message.ToName}\0{message.Content}";
        SHA256.HashData(Encoding.UTF8.GetBytes(text), digest);
        return new UInt128(BitConverter.ToUInt64(digest), BitConverter.ToUInt64(digest[8..]));
    }
}
