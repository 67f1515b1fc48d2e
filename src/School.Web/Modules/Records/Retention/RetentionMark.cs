using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;

namespace School.Web.Modules.Records.Retention;

/// <summary>How far a rule has cleared, written in the transaction that clears: what is always true of the database knows from it what may be gone.</summary>
internal sealed class RetentionMark
{
    public required string Code { get; init; }

    /// <summary>Of what is this old or older, some or all is gone.</summary>
    public required Instant ClearedUntil { get; init; }

    /// <summary>How many are cleared of which no line of the audit tells yet: a run that was killed leaves them to the next.</summary>
    public required long NotTold { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<RetentionMark>
    {
        public void Configure(EntityTypeBuilder<RetentionMark> entity)
        {
            entity.ToTable("retention_marks", "records");
            entity.HasKey(m => m.Code);
        }
    }
}
