using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Accounts;

/// <summary>The school's terms in the words of one version. Only added to, so that what somebody accepted can be read for ever.</summary>
internal sealed class Terms
{
    public const int LongestText = 8000;

    /// <summary>The first is 1.</summary>
    public required int Number { get; init; }

    public required string Text { get; init; }

    /// <summary>They say what a late cancellation, a late move or a missed lesson costs.</summary>
    public required bool NamesFees { get; init; }

    public required Instant WrittenAt { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<Terms>
    {
        public void Configure(EntityTypeBuilder<Terms> entity)
        {
            entity.ToTable("terms", "accounts");
            entity.HasKey(t => t.Number);
            entity.Property(t => t.Number).ValueGeneratedNever();
        }
    }
}

/// <summary>Whoever learns accepted a version of the terms, or staff noted that they did. Only added to.</summary>
internal sealed class TermsAccepted
{
    public required Guid PupilId { get; init; }

    public required int Number { get; init; }

    public required Instant At { get; init; }

    /// <summary>By their own press; else staff noted it, and the name says who.</summary>
    public required bool ByThemselves { get; init; }

    public required string NotedBy { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<TermsAccepted>
    {
        public void Configure(EntityTypeBuilder<TermsAccepted> entity)
        {
            entity.ToTable("terms_accepted", "accounts");
            entity.HasKey(a => new { a.PupilId, a.Number });
            entity.HasOne<Terms>().WithMany().HasForeignKey(a => a.Number);
        }
    }
}

/// <summary>What became of the fee for a lesson that was cancelled or moved late, or missed.</summary>
internal sealed class DecidedFee : Versioned
{
    public const int LongestReason = 200;

    public required Guid LessonId { get; init; }

    public required Guid PupilId { get; init; }

    public required Instant At { get; init; }

    public required Instant LessonStartsAt { get; init; }

    public required Core.Diary.Charges.ChargeCode Code { get; init; }

    public required Core.Accounts.FeeReason Reason { get; init; }

    public required int Percent { get; init; }

    /// <summary>The entry that asks for it; null where nothing is asked.</summary>
    public Guid? EntryId { get; init; }

    /// <summary>The lesson was taught after all.</summary>
    public bool TakenBack { get; set; }

    public Instant? WaivedAt { get; set; }

    public string WaivedBecause { get; set; } = "";

    internal sealed class Configuration : IEntityTypeConfiguration<DecidedFee>
    {
        public void Configure(EntityTypeBuilder<DecidedFee> entity)
        {
            entity.ToTable("decided_fees", "accounts");
            entity.HasIndex(f => f.LessonId);
            entity.HasIndex(f => new { f.PupilId, f.At });
        }
    }
}
