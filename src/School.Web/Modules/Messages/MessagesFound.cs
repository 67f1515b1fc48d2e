using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Find;

namespace School.Web.Modules.Messages;

/// <summary>Of the newest messages those whose receiver or subject has the words: what the list of messages tells of each, and nothing of what it says.</summary>
internal sealed class MessagesFound(SchoolDb db, MessageList list, SchoolInfo school) : IFind
{
    /// <summary>Millions were sent, and no index knows their words.</summary>
    private const int Newest = 200;

    public FoundKind Kind => FoundKind.Message;

    public async Task<IReadOnlyList<Found>> FindAsync(Viewer viewer, Question question, int most, CancellationToken cancel)
    {
        if (!viewer.May(Permission.SeeMessages) || question.Words.Count == 0)
        {
            return [];
        }

        var newest = await list.NewestAsync(Newest, cancel);
        var plain = await db.PlainAsync([.. newest.Select(one => $"{one.Row.ToName} {one.Subject}")], cancel);
        var facts = await school.GetAsync(cancel);
        return
        [
            .. newest.Zip(plain).Where(one => question.Begins(one.Second)).Take(most).Select(one => new Found(
                Kind, one.First.Row.Id, one.First.Subject, $"to {one.First.Row.ToName}, {MessageWords.Of(one.First.Row.State).ToLowerInvariant()}, {MessageWords.When(facts, one.First.Row)}",
                $"/messages/{one.First.Row.Id}", Fit.Words)),
        ];
    }
}
