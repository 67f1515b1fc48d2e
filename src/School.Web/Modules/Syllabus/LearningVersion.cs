using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace School.Web.Modules.Syllabus;

/// <summary>
/// How often what a pupil learned has changed, counted by the database itself (see learning-versions.sql), so that every node can tell
/// whether what it remembers still holds. There is none before the first change.
/// </summary>
internal sealed class LearningVersion
{
    public Guid PupilId { get; private init; }

    /// <summary>Only ever rises.</summary>
    public long Version { get; private init; }

    internal sealed class Configuration : IEntityTypeConfiguration<LearningVersion>
    {
        public void Configure(EntityTypeBuilder<LearningVersion> entity)
        {
            entity.ToTable("learning_versions", "syllabus");
            entity.HasKey(v => v.PupilId);
            entity.Property(v => v.PupilId).ValueGeneratedNever();
        }
    }
}
