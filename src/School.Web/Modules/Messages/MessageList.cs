using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Messages;

/// <summary>The messages, newest first, for page and API.</summary>
internal sealed class MessageList(SchoolDb db)
{
    public async Task<Outcome<Page<Message>>> ReadAsync(string? state, int? limit, string? cursor, CancellationToken cancel)
    {
        var request = PageRequest.Of(limit, cursor);
        if (!request.Ok)
        {
            return request.Refusal;
        }

        var unwrapped = request.Value.Unwrap();
        if (!unwrapped.Ok)
        {
            return unwrapped.Refusal;
        }

        var rows = db.Set<Message>().AsNoTracking();
        if (!string.IsNullOrEmpty(state))
        {
            if (!Enum.TryParse<MessageState>(state, ignoreCase: true, out var wanted) || !Enum.IsDefined(wanted))
            {
                return Refusal.Invalid("state", "Choose waiting, sent, failed or withdrawn.");
            }

            rows = rows.Where(m => m.State == wanted);
        }

        if (unwrapped.Value.Length > 0)
        {
            if (!Guid.TryParse(unwrapped.Value, out var before))
            {
                return Refusal.Invalid("cursor", "This cursor is not one that a list gave. Start again without it.");
            }

            rows = rows.Where(m => m.Id < before);
        }

        // Ids rise with time (RFC 9562 section 5.7).
        var found = await rows.OrderByDescending(m => m.Id).Take(request.Value.Limit + 1).ToListAsync(cancel);
        var items = found.Take(request.Value.Limit).ToList();
        return new Page<Message>(items, found.Count > items.Count ? PageRequest.Wrap(items[^1].Id.ToString()) : null);
    }

    public Task<Message?> FindAsync(Guid id, CancellationToken cancel) => db.Set<Message>().AsNoTracking().SingleOrDefaultAsync(m => m.Id == id, cancel);
}
