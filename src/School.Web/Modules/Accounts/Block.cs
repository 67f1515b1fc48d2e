using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Accounts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Accounts;

/// <summary>Hours sold together, by the terms of that day. Only added to: what is left of them, the journal says.</summary>
internal sealed class Block
{
    public const int ShortestMinutes = 60;
    public const int LongestMinutes = 6000;

    public Guid Id { get; init; } = RowId.New();

    public required Guid BookId { get; init; }

    public required Guid PupilId { get; init; }

    public required LocalDate SoldOn { get; init; }

    public required int Minutes { get; init; }

    /// <summary>The price with VAT.</summary>
    public required long Pence { get; init; }

    /// <summary>The rate of VAT inside the price, in thousandths; null without.</summary>
    public int? VatPerMille { get; init; }

    /// <summary>What an hour by itself cost that day.</summary>
    public long? SinglePence { get; init; }

    public required RefundRule RefundRule { get; init; }

    /// <summary>The buyer expressly asked to begin within the fourteen days.</summary>
    public required bool AskedToBegin { get; init; }

    /// <summary>Left over when the books were opened, and paid for before.</summary>
    public bool FromBefore { get; init; }

    public required Instant SoldAt { get; init; }

    /// <summary>Its price without VAT.</summary>
    public long Net => VatPerMille is { } rate ? Pence - Vat.Inside(Pence, rate) : Pence;

    public PrepaidBlock Standing(int minutesUsed, long penceUsed) => new(Id, SoldOn, Minutes, Net, minutesUsed, penceUsed);

    public BlockRefund Refund(int minutesUsed, LocalDate today) => BlockRefund.Of(SoldOn, Pence, Minutes, minutesUsed, SinglePence, RefundRule, AskedToBegin, today);

    internal sealed class Configuration : IEntityTypeConfiguration<Block>
    {
        public void Configure(EntityTypeBuilder<Block> entity)
        {
            entity.ToTable("blocks", "accounts", t => t.HasCheckConstraint(
                "blocks_bounds", $"minutes BETWEEN 1 AND {LongestMinutes} AND pence BETWEEN 0 AND {Core.Accounts.Pence.Most}"));
            entity.Property(b => b.Id).ValueGeneratedNever();
            entity.HasOne<Book>().WithMany().HasForeignKey(b => b.BookId);
            entity.HasIndex(b => b.PupilId);
        }
    }
}
