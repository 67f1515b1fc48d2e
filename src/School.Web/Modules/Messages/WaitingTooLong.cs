using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Messages;

/// <summary>Messages that should have gone and wait: one line, however many they are, since they have one cause.</summary>
internal sealed class WaitingTooLong(MessageQueries messages, SchoolInfo school) : INeedAttention
{
    public const string Kind = "late_messages";

    private static readonly AttentionHeading Heading = new(45, "Messages that do not go out", "Look at the messages");

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        if (await messages.LateAsync(cancel) is not { } late)
        {
            return [];
        }

        var facts = await school.GetAsync(cancel);
        var what = late.Count == 1 ? "One message" : $"{late.Count} messages";
        return
        [
            new(
                Kind, Heading,
                $"{what} should have gone and {(late.Count == 1 ? "waits" : "wait")}, since {MessageWords.Moment(facts, late.Since)}. See what the mail server answers, and tell whoever runs the service.",
                "/messages?state=waiting", late.Since.InZone(facts.Zone).Date),
        ];
    }
}
