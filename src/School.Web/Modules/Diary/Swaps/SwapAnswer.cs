using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Access;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>What a pupil said to a swap.</summary>
internal enum SwapReply
{
    /// <summary>Nothing yet.</summary>
    None,

    Agreed,
    Declined,
}

/// <summary>How a pupil's answer came in.</summary>
internal enum SwapHow
{
    /// <summary>The pupil gave it here.</summary>
    Pupil,

    /// <summary>The pupil told the school, and somebody there noted it.</summary>
    Phone,
}

/// <summary>One of the two pupils of a swap who is asked, and what they said. While it is open it holds their lesson for this swap.</summary>
internal sealed class SwapAnswer
{
    private const int SecretOctets = 32;

    public required Guid ProposalId { get; init; }

    public required Guid LessonId { get; init; }

    public required Guid PupilId { get; init; }

    /// <summary>From this moment on no answer counts.</summary>
    public required Instant LapsesAt { get; init; }

    /// <summary>Of the secret in the letter's link; the secret itself is told once and not kept.</summary>
    public required byte[] SecretHash { get; init; }

    public bool Open { get; private set; } = true;

    public SwapReply Reply { get; private set; }

    public SwapHow? How { get; private set; }

    public Instant? AnsweredAt { get; private set; }

    public Guid? ByPersonId { get; private set; }

    public string ByName { get; private set; } = "";

    public void Answer(SwapReply reply, SwapHow how, Viewer by, Instant now) =>
        (Reply, How, ByPersonId, ByName, AnsweredAt) = (reply, how, by.PersonId, by.Name, now);

    public void Close() => Open = false;

    public bool Opens(string? secret) => secret is not null && CryptographicOperations.FixedTimeEquals(HashOf(secret), SecretHash);

    public static string NewSecret() => Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(SecretOctets));

    public static byte[] HashOf(string secret) => SHA256.HashData(Encoding.UTF8.GetBytes(secret));

    internal sealed class Configuration : IEntityTypeConfiguration<SwapAnswer>
    {
        public void Configure(EntityTypeBuilder<SwapAnswer> entity)
        {
            entity.ToTable("swap_answers", "diary", t => t.HasCheckConstraint("swap_answers_told", "(reply = 'None') = (answered_at IS NULL) AND (how IS NULL) = (answered_at IS NULL)"));
            entity.HasKey(a => new { a.ProposalId, a.LessonId });
            // The last guard of "a lesson is in one open swap".
            entity.HasIndex(a => a.LessonId).IsUnique().HasFilter("open").HasDatabaseName("swap_answers_open_once");
            entity.HasIndex(a => a.PupilId);
            entity.HasOne<Proposal>().WithMany().HasForeignKey(a => a.ProposalId).OnDelete(DeleteBehavior.Cascade);
        }
    }
}
