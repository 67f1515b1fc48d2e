using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Messages.Writing;

/// <summary>Which letterhead each letter has: one that went that of then, another that of now.</summary>
internal sealed class Letterheads(SchoolDb db, SchoolInfo school, PublicUrl url, IClock clock)
{
    public async Task<Letterhead> NowAsync(CancellationToken cancel) => Letterhead.Of(await school.GetAsync(cancel), url);

    /// <summary>Keeps it unless it is kept already, and says under which number.</summary>
    public async Task<int> KeepAsync(Letterhead head, CancellationToken cancel)
    {
        var (digest, content, now) = (head.Digest(), head.ToJson(), clock.GetCurrentInstant());
        if (await FindAsync(digest, cancel) is { } known)
        {
            return known;
        }

        await db.AloneAsync(
            () => db.Database.ExecuteSqlAsync(
                $"INSERT INTO messages.letterheads (digest, content, first_at) VALUES ({digest}, {content}::jsonb, {now}) ON CONFLICT (digest) DO NOTHING", cancel),
            cancel);
        return (await FindAsync(digest, cancel))!.Value;
    }

    /// <summary>
    /// All of them: a school changes its name or number a few times in its life. A letter that went before letterheads were kept has the
    /// first that was, so that it stays as it is from then on.
    /// </summary>
    public async Task<Func<Message, Letterhead>> OfAllAsync(CancellationToken cancel) => await OfAsync(await All.ToListAsync(cancel), cancel);

    /// <summary>What <see cref="OfAsync"/> needs, as a part of what is read together.</summary>
    public Rows<KeptLetterhead> Ahead(ReadTogether together)
    {
        school.Ahead(together);
        return together.Ask(All);
    }

    private IQueryable<KeptLetterhead> All => db.Set<KeptLetterhead>().AsNoTracking();

    public async Task<Func<Message, Letterhead>> OfAsync(IEnumerable<KeptLetterhead> all, CancellationToken cancel)
    {
        var kept = all.ToDictionary(h => h.Id, h => h.Content);
        var (now, read) = (await NowAsync(cancel), new Dictionary<int, Letterhead>());
        var first = kept.Count == 0 ? 0 : kept.Keys.Min();
        return message => message.State is MessageState.Sent && kept.TryGetValue(message.LetterheadId ?? first, out var content) ? Read(message.LetterheadId ?? first, content) : now;

        Letterhead Read(int id, string content) => read.TryGetValue(id, out var head) ? head : read[id] = Letterhead.Read(content);
    }

    private async Task<int?> FindAsync(byte[] digest, CancellationToken cancel) =>
        await db.Set<KeptLetterhead>().AsNoTracking().Where(h => h.Digest == digest).Select(h => (int?)h.Id).SingleOrDefaultAsync(cancel);
}
