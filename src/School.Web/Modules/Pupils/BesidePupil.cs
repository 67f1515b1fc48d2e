using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils;

/// <summary>
/// Somebody beside a pupil: what they are to the pupil and what the pupil lets them see. Whether they get copies of the letters stands with
/// the pupil (<see cref="Pupil.LettersTo"/>), where whoever writes a letter finds it.
/// </summary>
internal sealed class BesidePupil : Versioned
{
    public const int Most = 6;
    public const int LongestRelation = 40;

    public required Guid PupilId { get; init; }

    public required Guid ContactId { get; init; }

    /// <summary>Such as mother, uncle, training manager; may be empty.</summary>
    public required string Relation { get; set; }

    public required List<SeenOfPupil> Sees { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<BesidePupil>
    {
        public void Configure(EntityTypeBuilder<BesidePupil> entity)
        {
            entity.ToTable("beside", "pupils");
            entity.PrimitiveCollection(b => b.Sees).ElementType(e => e.HasConversion<string>());
            entity.HasOne<Pupil>().WithMany().HasForeignKey(b => b.PupilId).OnDelete(DeleteBehavior.Cascade);
            entity.HasIndex(b => new { b.PupilId, b.ContactId }).IsUnique();
            // All pupils of one contact, and the foreign key when a contact is forgotten.
            entity.HasIndex(b => b.ContactId);
        }
    }
}
