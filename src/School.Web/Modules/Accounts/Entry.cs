using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Accounts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Accounts;

/// <summary>What an entry of the journal is for.</summary>
internal enum EntryKind
{
    Lesson,
    LateCancellation,
    LateMove,
    Missed,
    BlockSold,
    BlockGivenBack,
    Payment,
    PaidBack,
    WrittenOff,
    Opening,
    HandedIn,
    Banked,

    /// <summary>Undoes another, which stays as it was.</summary>
    Reversal,
}

/// <summary>An entry of the journal. Only added to; its lines come to nought when it is committed.</summary>
internal sealed class Entry
{
    public const int LongestReason = 200;

    public Guid Id { get; init; } = RowId.New();

    public required Guid BookId { get; init; }

    /// <summary>The day it belongs to, in the zone of the school.</summary>
    public required LocalDate On { get; init; }

    public required Instant At { get; init; }

    public required EntryKind Kind { get; init; }

    public required Guid PostedBy { get; init; }

    public Guid? PupilId { get; init; }

    /// <summary>Not a reference: the journal outlives the diary.</summary>
    public Guid? LessonId { get; init; }

    /// <summary>Counts the entries of one lesson, so that two at once cannot both be the next.</summary>
    public int? Turn { get; init; }

    public Instant? LessonStartsAt { get; init; }

    public int? LessonMinutes { get; init; }

    /// <summary>The price of the lesson with VAT, before prepaid minutes.</summary>
    public long? LessonPence { get; init; }

    public Guid? PriceId { get; init; }

    public Guid? BlockId { get; init; }

    public Guid? PaymentId { get; init; }

    public Guid? ReversesId { get; init; }

    /// <summary>Why, where somebody had to say.</summary>
    public string Reason { get; init; } = "";

    public List<EntryLine> Lines { get; } = [];

    /// <summary>The same, with what it is about.</summary>
    public Entry About(Guid? blockId = null, Guid? paymentId = null, Guid? reversesId = null, string reason = "") => new()
    {
        Id = Id,
        BookId = BookId,
        On = On,
        At = At,
        Kind = Kind,
        PostedBy = PostedBy,
        PupilId = PupilId,
        LessonId = LessonId,
        BlockId = blockId,
        PaymentId = paymentId,
        ReversesId = reversesId,
        Reason = reason,
    };

    /// <summary>What undoes this one, made of what is posted now.</summary>
    public Entry Undone(Entry now, int turn, string reason = "") => new()
    {
        Id = now.Id,
        BookId = BookId,
        On = now.On,
        At = now.At,
        Kind = EntryKind.Reversal,
        PostedBy = now.PostedBy,
        PupilId = PupilId,
        LessonId = LessonId,
        Turn = turn,
        LessonStartsAt = LessonStartsAt,
        LessonMinutes = LessonMinutes,
        LessonPence = LessonPence,
        PriceId = PriceId,
        BlockId = BlockId,
        PaymentId = PaymentId,
        ReversesId = Id,
        Reason = reason,
    };

    public JournalEntry? Journal() => JournalEntry.Of(Lines.OrderBy(line => line.Id).Select(line => line.Line()));

    internal sealed class Configuration : IEntityTypeConfiguration<Entry>
    {
        public void Configure(EntityTypeBuilder<Entry> entity)
        {
            entity.ToTable("entries", "accounts");
            entity.Property(e => e.Id).ValueGeneratedNever();
            entity.HasOne<Book>().WithMany().HasForeignKey(e => e.BookId);
            entity.HasMany(e => e.Lines).WithOne().HasForeignKey(l => l.EntryId);
            entity.HasIndex(e => new { e.LessonId, e.Turn }).IsUnique().HasDatabaseName("entries_lesson_turn");
            entity.HasIndex(e => e.ReversesId).IsUnique().HasDatabaseName("entries_reversed_once");
            entity.HasIndex(e => new { e.PupilId, e.On, e.Id });
            entity.HasIndex(e => new { e.BookId, e.On });
        }
    }
}

internal sealed class EntryLine
{
    public long Id { get; init; }

    public Guid EntryId { get; init; }

    public required LedgerAccount Account { get; init; }

    /// <summary>A debit is positive.</summary>
    public required long Pence { get; init; }

    public Guid? PupilId { get; init; }

    public Guid? BlockId { get; init; }

    public Guid? HolderId { get; init; }

    public required int Minutes { get; init; }

    public static EntryLine Of(JournalLine line) => new()
    {
        Account = line.Account,
        Pence = line.Pence,
        PupilId = line.PupilId,
        BlockId = line.BlockId,
        HolderId = line.HolderId,
        Minutes = line.Minutes,
    };

    public JournalLine Line() => new(Account, Pence) { PupilId = PupilId, BlockId = BlockId, HolderId = HolderId, Minutes = Minutes };

    internal sealed class Configuration : IEntityTypeConfiguration<EntryLine>
    {
        public void Configure(EntityTypeBuilder<EntryLine> entity)
        {
            entity.ToTable("lines", "accounts");
            // What a balance needs stands in the index.
            entity.HasIndex(l => new { l.PupilId, l.Account }).IncludeProperties(l => new { l.Pence, l.Minutes, l.BlockId });
        }
    }
}
