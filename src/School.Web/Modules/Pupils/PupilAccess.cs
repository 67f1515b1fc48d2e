using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils;

/// <summary>
/// That somebody opened a pupil of somebody else's for a reason: contact, places and record, until midnight where the school is. Only ever added to;
/// a further reason on the same day is a row of its own. Or the telephone number alone, on a list of pupils to ring.
/// </summary>
internal sealed class PupilAccess
{
    public const int ShortestReason = 5;
    public const int LongestReason = 200;

    /// <summary>
    /// Different pupils whom one person may open on one day. More than thirty lessons do not fit a day, so whoever covers for a colleague or looks for
    /// somebody in an emergency stays far below it; who reads through the list of pupils does not.
    /// </summary>
    public const int MostADay = 50;

    public Guid Id { get; init; } = RowId.New();

    public required Guid PupilId { get; init; }

    public required Guid PersonId { get; init; }

    /// <summary>Their name then.</summary>
    public required string ByName { get; init; }

    public required string Reason { get; init; }

    public required Instant At { get; init; }

    public required Instant Until { get; init; }

    /// <summary>The list on which it opens the telephone number and nothing else; null where it opens contact, places and record.</summary>
    public Guid? NumberOn { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<PupilAccess>
    {
        public void Configure(EntityTypeBuilder<PupilAccess> entity)
        {
            entity.ToTable("accesses", "pupils");
            entity.Property(a => a.Id).ValueGeneratedNever();
            entity.HasOne<Pupil>().WithMany().HasForeignKey(a => a.PupilId).OnDelete(DeleteBehavior.Cascade);
            // What is open to somebody now, and how many pupils that are.
            entity.HasIndex(a => new { a.PersonId, a.Until });
            entity.HasIndex(a => a.PupilId);
            // The oldest, to be cleared.
            entity.HasIndex(a => a.At);
        }
    }
}
