using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Messages;

/// <summary>Messages that were given up, and those that nobody can be sent.</summary>
internal sealed class FailedMessages(MessageQueries messages, SchoolInfo school) : INeedAttention
{
    public const string Kind = "failed_message";

    public const string NoAddress = "no_address";

    private static readonly AttentionHeading Unsent = new(48, "Letters to somebody without an e-mail address", "Enter an address");

    private static readonly AttentionHeading Heading = new(50, "Messages that did not get through", "Look at the message");

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var (failed, unsent) = await messages.GivenUpAsync(cancel);
        return
        [
            .. from letters in unsent
               select new AttentionItem(
                   NoAddress,
                   Unsent,
                   $"{(letters.Count == 1 ? "1 letter" : $"{letters.Count} letters")} to {letters.Name} cannot be sent: no e-mail address. Tell them yourself, or enter an address and send {(letters.Count == 1 ? "it" : "them")} again under Messages.",
                   letters.To.Kind switch
                   {
                       ReceiverKind.Instructor => $"/people/instructors/{letters.To.Id}#Input_Email",
                       ReceiverKind.Contact => $"/pupils/contacts/{letters.To.Id}#Input_Email",
                       ReceiverKind.Person or ReceiverKind.Pupil => $"/pupils/{letters.To.Id}/change#Input_Email",
                   },
                   letters.Since.InZone(facts.Zone).Date)
               {
                   Urgency = AttentionUrgency.Today,
               },
            .. from message in failed
               select new AttentionItem(
                   Kind,
                   Heading,
                   $"“{message.Subject}” to {message.ToName} was not sent{(facts.PupilsBelongToInstructor ? "." : $": {message.Reason}")} Put right what is wrong, then send it again.",
                   $"/messages/{message.Id}",
                   message.At.InZone(facts.Zone).Date)
               {
                   Urgency = AttentionUrgency.Today,
               },
        ];
    }
}
