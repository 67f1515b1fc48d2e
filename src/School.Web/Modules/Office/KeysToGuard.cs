using NodaTime;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Keys;

namespace School.Web.Modules.Office;

/// <summary>Keys that stand readable in the database and its backups, because nobody gave the service a key file.</summary>
internal sealed class KeysToGuard(KeyRing ring, SchoolInfo school, IClock clock) : INeedAttention
{
    public const string Kind = "keys_readable";

    private static readonly AttentionHeading Heading = new(25, "How the service is run", "Read what to do");

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel) => ring.Look().Are != KeysAre.Readable
        ? []
        :
        [
            new(
                Kind, Heading, "Whoever gets hold of a backup can sign in as anybody and read health notes: the service has no key file. Whoever runs it has to give it one.",
                "/office/keys", (await school.GetAsync(cancel)).Today(clock))
            {
                Urgency = AttentionUrgency.Today,
            },
        ];
}
