using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Accounts;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Platform.Database;

namespace School.Web.Modules.Accounts;

/// <summary>The books of one seller. What is before the day on which they were opened is not in them.</summary>
internal sealed class Book : Versioned
{
    public const string Pounds = "GBP";

    /// <summary>Who sells; null for the school.</summary>
    public Guid? InstructorId { get; init; }

    public required string Currency { get; init; }

    public required LocalDate OpenedOn { get; init; }

    /// <summary>Registered for VAT from this day on; null where it is not.</summary>
    public LocalDate? VatFrom { get; set; }

    /// <summary>How blocks sold from now on are given back after the fourteen days.</summary>
    public required RefundRule RefundRule { get; set; }

    public List<PriceRow> Prices { get; } = [];

    public List<FeeRow> Fees { get; } = [];

    /// <summary>The rate of VAT inside what is sold on a day, in thousandths; null without VAT.</summary>
    public int? VatOn(LocalDate day) => VatFrom <= day ? Vat.RateOn(day) : null;

    /// <summary>What a lesson costs; null where the list has no price for it.</summary>
    public LessonPrice? PriceOf(LessonToPrice lesson) => PriceList.Of(Prices.Select(row => row.Rule()), lesson);

    /// <summary>The price of an hour like any other on a day; null where the list has none.</summary>
    public long? HourOn(LocalDate day) => PriceOf(new(day, day + LocalTime.Noon, 60, LessonKind.Standard, Gearbox.Manual, Guid.Empty))?.Pence;

    public FeePolicy? FeesOn(LocalDate day) => FeePolicy.On(Fees.OrderBy(row => row.Id).Select(row => row.Policy()).Reverse(), day);

    internal sealed class Configuration : IEntityTypeConfiguration<Book>
    {
        public void Configure(EntityTypeBuilder<Book> entity)
        {
            entity.ToTable("books", "accounts");
            entity.Property(b => b.Currency).HasMaxLength(3);
            entity.HasIndex(b => b.InstructorId).IsUnique().AreNullsDistinct(false).HasDatabaseName("books_one_for_each_seller");
            entity.HasMany(b => b.Prices).WithOne().HasForeignKey(p => p.BookId);
            entity.HasMany(b => b.Fees).WithOne().HasForeignKey(f => f.BookId);
        }
    }
}

/// <summary>A line of the price list. Only added to: a change is a new line from a day on.</summary>
internal sealed class PriceRow
{
    /// <summary>Of the first price, which also holds for what was booked before.</summary>
    public static readonly LocalDate Always = new(2000, 1, 1);

    public Guid Id { get; init; } = RowId.New();

    public required Guid BookId { get; init; }

    public required LocalDate BookedFrom { get; init; }

    /// <summary>Null where it ends the price for such lessons.</summary>
    public long? Pence { get; init; }

    public required int Minutes { get; init; }

    public bool OnlyThisLength { get; init; }

    public LessonKind? Kind { get; init; }

    public Gearbox? Gearbox { get; init; }

    public Guid? InstructorId { get; init; }

    /// <summary>One bit for each day of the week, Monday first; null for all lessons, whenever they begin.</summary>
    public int? Days { get; init; }

    public LocalTime? From { get; init; }

    public LocalTime? Until { get; init; }

    public required Instant AddedAt { get; init; }

    public PriceRule Rule() => new(Id, BookedFrom, Pence, Minutes)
    {
        OnlyThisLength = OnlyThisLength,
        Kind = Kind,
        Gearbox = Gearbox,
        InstructorId = InstructorId,
        Hours = Days is { } days ? new(days, From!.Value, Until!.Value) : null,
    };

    internal sealed class Configuration : IEntityTypeConfiguration<PriceRow>
    {
        public void Configure(EntityTypeBuilder<PriceRow> entity)
        {
            entity.ToTable("prices", "accounts", t =>
            {
                t.HasCheckConstraint("prices_bounds", $"(pence IS NULL OR pence BETWEEN 0 AND {Core.Accounts.Pence.Most}) AND minutes BETWEEN 15 AND 480 AND (days IS NULL OR days BETWEEN 1 AND 127)");
                t.HasCheckConstraint("prices_hours", "(days IS NULL) = (\"from\" IS NULL) AND (days IS NULL) = (until IS NULL)");
            });
            entity.Property(p => p.Id).ValueGeneratedNever();
        }
    }
}

/// <summary>What is asked for lessons that do not take place, from a day on. Only added to.</summary>
internal sealed class FeeRow
{
    public Guid Id { get; init; } = RowId.New();

    public required Guid BookId { get; init; }

    public required LocalDate From { get; init; }

    public required int LatePercent { get; init; }

    public required int LateMovePercent { get; init; }

    public required int MissedPercent { get; init; }

    public required int FreeAYear { get; init; }

    public required bool NeedsReminder { get; init; }

    public required Instant AddedAt { get; init; }

    public FeePolicy Policy() => new(From, LatePercent, LateMovePercent, MissedPercent, FreeAYear, NeedsReminder);

    internal sealed class Configuration : IEntityTypeConfiguration<FeeRow>
    {
        public void Configure(EntityTypeBuilder<FeeRow> entity)
        {
            entity.ToTable("fees", "accounts", t => t.HasCheckConstraint(
                "fees_bounds", $"late_percent BETWEEN 0 AND 100 AND late_move_percent BETWEEN 0 AND 100 AND missed_percent BETWEEN 0 AND 100 AND free_a_year BETWEEN 0 AND {FeePolicy.MostFree}"));
            entity.Property(f => f.Id).ValueGeneratedNever();
        }
    }
}
