using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Diary;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Waiting;

internal enum OfferState
{
    Open,
    Accepted,
    Declined,

    /// <summary>The time to answer ran out.</summary>
    Lapsed,

    /// <summary>Somebody else has it, or it no longer fits.</summary>
    Gone,
}

/// <summary>A freed time offered to somebody who waits.</summary>
internal sealed class OfferedSlot
{
    private const int SecretOctets = 32;

    public Guid Id { get; init; } = RowId.New();

    public required Guid FreedId { get; init; }

    public required Guid WaitingId { get; init; }

    public required Guid PupilId { get; init; }

    public required Guid InstructorId { get; init; }

    public required Instant StartsAt { get; init; }

    public required int Minutes { get; init; }

    /// <summary>What the lesson is for.</summary>
    public LessonKind Kind { get; init; }

    /// <summary>Rests within it, in order.</summary>
    public IReadOnlyList<LessonBreak> Breaks
    {
        get => LessonBreak.Read(KeptBreaks);
        init => KeptBreaks = LessonBreak.Write(value);
    }

    public string KeptBreaks { get; private init; } = "";

    /// <summary>The booked lesson that moves when the offer is accepted; null when a lesson is added.</summary>
    public Guid? InsteadOfId { get; init; }

    public required Instant OfferedAt { get; init; }

    public required Instant HeldUntil { get; init; }

    public OfferState State { get; set; }

    public Instant? AnsweredAt { get; set; }

    /// <summary>The lesson that came of it.</summary>
    public Guid? LessonId { get; set; }

    /// <summary>Of the secret in the letter's link; the secret itself is told once and not kept.</summary>
    public required byte[] SecretHash { get; init; }

    /// <summary>From start to end, its breaks included.</summary>
    public Interval During => new(StartsAt, StartsAt + Duration.FromMinutes(Minutes + Breaks.Sum(rest => rest.Minutes)));

    /// <summary>The rests as moments.</summary>
    public IEnumerable<Interval> Rests() => Breaks.Select(rest => rest.During(StartsAt));

    public bool Opens(string? secret) => secret is not null && CryptographicOperations.FixedTimeEquals(HashOf(secret), SecretHash);

    public static string NewSecret() => Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(SecretOctets));

    public static byte[] HashOf(string secret) => SHA256.HashData(Encoding.UTF8.GetBytes(secret));

    internal sealed class Configuration : IEntityTypeConfiguration<OfferedSlot>
    {
        public void Configure(EntityTypeBuilder<OfferedSlot> entity)
        {
            entity.ToTable("offers", "diary");
            entity.Property(o => o.Id).ValueGeneratedNever();
            entity.Ignore(o => o.During);
            entity.Ignore(o => o.Breaks);
            entity.Property(o => o.Kind).HasDefaultValue(LessonKind.Standard).HasSentinel(LessonKind.Standard);
            entity.Property(o => o.KeptBreaks).HasColumnName("breaks").HasDefaultValue("");
            // The latest, of all that were ever made.
            entity.HasIndex(o => o.OfferedAt);
            entity.HasIndex(o => new { o.FreedId, o.WaitingId }).IsUnique().HasDatabaseName("offers_once");
            // The last guard of "exactly one has it".
            entity.HasIndex(o => o.FreedId).IsUnique().HasFilter("state = 'Accepted'").HasDatabaseName("offers_one_accepted");
            entity.HasIndex(o => o.PupilId);
            // Whether an entry that is to be cleared has any.
            entity.HasIndex(o => o.WaitingId);
            entity.HasOne<FreedSlot>().WithMany().HasForeignKey(o => o.FreedId);
            entity.HasOne<WaitingEntry>().WithMany().HasForeignKey(o => o.WaitingId);
        }
    }
}
