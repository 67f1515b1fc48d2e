using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Messages.Writing;
using School.Web.Platform.Database;

namespace School.Web.Modules.Messages;

internal enum MessageState
{
    Waiting,
    Sent,

    /// <summary>Replaced or overtaken before it went: a moved lesson's old reminder, a reminder whose lesson has passed.</summary>
    Withdrawn,

    /// <summary>Given up after its tries; the office sees it.</summary>
    Failed,
}

/// <summary>A message, written in the same transaction as its cause and sent after it.</summary>
internal sealed class Message
{
    public Guid Id { get; init; } = RowId.New();

    /// <summary>Natural key: what it says about which version of what, so that it is written once.</summary>
    public required string Key { get; init; }

    /// <summary>The lesson or person it is about; withdrawing goes by it.</summary>
    public required Guid AboutId { get; init; }

    public required string Kind { get; init; }

    public required ReceiverKind Receiver { get; init; }

    public required Guid ReceiverId { get; init; }

    public Receiver To => new(Receiver, ReceiverId);

    public required string ToName { get; set; }

    public required string ToAddress { get; set; }

    /// <summary>Facts and acts (<see cref="LetterContent"/>); the words are made of them each time. Null once they are kept no longer.</summary>
    public required string? Content { get; init; }

    /// <summary>It told a pupil what was agreed or changed: kept for as long as that may be argued about.</summary>
    public bool Proof { get; init; }

    public required Instant WrittenAt { get; init; }

    public required Instant DueAt { get; set; }

    /// <summary>Not sent at or after this moment: it would speak of something past.</summary>
    public Instant? UselessAt { get; init; }

    public MessageState State { get; set; }

    public Instant? ClosedAt { get; set; }

    /// <summary>The <see cref="KeptLetterhead"/> with which it went.</summary>
    public int? LetterheadId { get; init; }

    /// <summary>Of the words that went (<see cref="MadeLetter.Digest"/>): shows later that they are the same.</summary>
    public byte[]? SentDigest { get; init; }

    public int Tries { get; set; }

    public string LastProblem { get; set; } = "";

    /// <summary>The same without the address, which mail servers like to repeat.</summary>
    public string ProblemByName => ToAddress.Length == 0 ? LastProblem : LastProblem.Replace(ToAddress, "their address", StringComparison.OrdinalIgnoreCase);

    /// <summary>Claimed by a worker until then; a worker that died lets go by itself.</summary>
    public Instant? ClaimedUntil { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<Message>
    {
        public void Configure(EntityTypeBuilder<Message> entity)
        {
            entity.ToTable("messages", "messages");
            entity.Property(m => m.Id).ValueGeneratedNever();
            entity.Ignore(m => m.To);
            entity.Property(m => m.Content).HasColumnType("jsonb");
            // Written by the database where a node of the release before writes a letter: rather too long than too short.
            entity.Property(m => m.Proof).HasDefaultValue(true);
            // What goes next: of millions that went, the few that wait. That a key stands once, see guards.sql.
            entity.HasIndex(m => m.DueAt).HasFilter("state = 'Waiting'").HasDatabaseName("messages_waiting");
            // Lists of one state, newest first; all but those that went are few.
            entity.HasIndex(m => new { m.State, m.Id }).HasFilter("state <> 'Sent'").HasDatabaseName("messages_not_sent");
            // What was kept long enough, the oldest first: one for each period.
            entity.HasIndex(m => m.ClosedAt, "messages_proof_closed").HasFilter("proof AND closed_at IS NOT NULL");
            entity.HasIndex(m => m.ClosedAt, "messages_other_closed").HasFilter("NOT proof AND closed_at IS NOT NULL");
            entity.HasIndex(m => m.AboutId);
        }
    }
}
