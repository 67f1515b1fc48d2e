using System.Text.Json.Serialization;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Accounts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Accounts;

/// <summary>How money changes hands.</summary>
internal enum PaymentMethod
{
    [JsonStringEnumMemberName("cash")]
    Cash,

    [JsonStringEnumMemberName("transfer")]
    Transfer,

    [JsonStringEnumMemberName("card")]
    Card,

    [JsonStringEnumMemberName("other")]
    Other,
}

/// <summary>Money that came in, or went back where it is negative, with the number of its receipt. Only added to.</summary>
internal sealed class Payment
{
    public const int LongestReference = 35;

    public Guid Id { get; init; } = RowId.New();

    public required Guid BookId { get; init; }

    /// <summary>Of the receipt: without gaps within its books.</summary>
    public required int Number { get; init; }

    public required Guid PupilId { get; init; }

    public required long Pence { get; init; }

    public required PaymentMethod Method { get; init; }

    public required LocalDate PaidOn { get; init; }

    /// <summary>What stood on the transfer, or on the slip.</summary>
    public required string Reference { get; init; }

    /// <summary>Who has the cash; null for the office.</summary>
    public Guid? HolderId { get; init; }

    public required Instant At { get; init; }

    public required string TakenBy { get; init; }

    public LedgerAccount Into => Method switch
    {
        PaymentMethod.Cash => LedgerAccount.Cash,
        PaymentMethod.Transfer or PaymentMethod.Other => LedgerAccount.Bank,
        PaymentMethod.Card => LedgerAccount.Card,
    };

    internal sealed class Configuration : IEntityTypeConfiguration<Payment>
    {
        public void Configure(EntityTypeBuilder<Payment> entity)
        {
            entity.ToTable("payments", "accounts", t => t.HasCheckConstraint("payments_bounds", $"pence <> 0 AND abs(pence) <= {Core.Accounts.Pence.Most}"));
            entity.Property(p => p.Id).ValueGeneratedNever();
            entity.HasOne<Book>().WithMany().HasForeignKey(p => p.BookId);
            entity.HasIndex(p => new { p.BookId, p.Number }).IsUnique().HasDatabaseName("payments_number_once");
            entity.HasIndex(p => p.PupilId);
            entity.HasIndex(p => p.PaidOn);
        }
    }
}
