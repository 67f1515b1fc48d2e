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

    public required string ToName { get; set; }

    public required string ToAddress { get; set; }

    /// <summary>Facts and acts (<see cref="LetterContent"/>); the words are made of them each time.</summary>
    public required string Content { get; init; }

    /// <summary>The subject as it was worded last: when it was written, then when it went. Null in rows older than the column; lists need not word whole letters.</summary>
    public string? Subject { get; set; }

    public required Instant WrittenAt { get; init; }

    public required Instant DueAt { get; set; }

    /// <summary>Not sent at or after this moment: it would speak of something past.</summary>
    public Instant? UselessAt { get; init; }

    public MessageState State { get; set; }

    public Instant? ClosedAt { get; set; }

    public int Tries { get; set; }

    public string LastProblem { get; set; } = "";

    /// <summary>Claimed by a worker until then; a worker that died lets go by itself.</summary>
    public Instant? ClaimedUntil { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<Message>
    {
        public void Configure(EntityTypeBuilder<Message> entity)
        {
            entity.ToTable("messages", "messages");
            entity.Property(m => m.Id).ValueGeneratedNever();
            entity.Property(m => m.Content).HasColumnType("jsonb");
            entity.HasIndex(m => m.Key).IsUnique().HasDatabaseName("messages_once");
            entity.HasIndex(m => new { m.State, m.DueAt });
            entity.HasIndex(m => m.AboutId);
        }
    }
}
