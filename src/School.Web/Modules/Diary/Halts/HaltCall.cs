using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Modules.Diary.Proposals;

namespace School.Web.Modules.Diary.Halts;

/// <summary>Somebody rang a pupil whom no letter about a halt reached.</summary>
internal sealed class HaltCall
{
    public required Guid HaltId { get; init; }

    public required Guid PupilId { get; init; }

    public required Instant CalledAt { get; init; }

    public required Guid ByPersonId { get; init; }

    public required string ByName { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<HaltCall>
    {
        public void Configure(EntityTypeBuilder<HaltCall> entity)
        {
            entity.ToTable("halt_calls", "diary");
            entity.HasKey(c => new { c.HaltId, c.PupilId });
            entity.HasOne<Proposal>().WithMany().HasForeignKey(c => c.HaltId).OnDelete(DeleteBehavior.Cascade);
        }
    }
}
