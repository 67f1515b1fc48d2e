using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus.Lessons;

/// <summary>A record as it was saved, each time it was; only ever added, so that nothing that once stood is lost.</summary>
internal sealed class LessonRecordChange
{
    public Guid Id { get; init; } = RowId.New();

    public required Guid LessonId { get; init; }

    public required Instant At { get; init; }

    public required Guid ByPersonId { get; init; }

    public required string ByName { get; init; }

    /// <summary>The whole record as it stood after the change, as JSON, with minutes and the sentence for the pupil.</summary>
    public required string Content { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<LessonRecordChange>
    {
        public void Configure(EntityTypeBuilder<LessonRecordChange> entity)
        {
            entity.ToTable("lesson_record_changes", "syllabus");
            entity.Property(c => c.Id).ValueGeneratedNever();
            entity.Property(c => c.Content).HasColumnType("jsonb");
            // Lesson first: one index finds the history of a lesson and tells its lines apart, where there were two.
            entity.HasKey(c => new { c.LessonId, c.Id });
        }
    }
}
