using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Messages;

/// <summary>Messages that were given up.</summary>
internal sealed class FailedMessages(MessageQueries messages, SchoolInfo school) : INeedAttention
{
    public const string Kind = "failed_message";

    private static readonly AttentionHeading Heading = new(50, "Messages that did not get through", "Look at the message");

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        return
        [
            .. from message in await messages.FailedAsync(cancel)
               select new AttentionItem(
                   Kind,
                   Heading,
                   $"“{message.Subject}” to {message.ToName} was not sent: {message.Reason} Put right what is wrong, then send it again.",
                   $"/messages/{message.Id}",
                   message.At.InZone(facts.Zone).Date),
        ];
    }
}
