using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Lessons;

namespace School.Web.Modules.Diary.Day;

/// <summary>What a lesson's pupil was last told about its starting late.</summary>
internal sealed class LateNote
{
    public required Guid LessonId { get; init; }

    /// <summary>The start it was about: a lesson moved since is no longer late.</summary>
    public required Instant StartsAt { get; set; }

    /// <summary>0 when the pupil was told that it starts on time after all.</summary>
    public required int Minutes { get; set; }

    public required Instant ToldAt { get; set; }

    /// <summary>How often something was told: part of the message's key.</summary>
    public int Times { get; set; }

    public bool AppliesTo(Lesson lesson) => Minutes > 0 && StartsAt == lesson.StartsAt && lesson.State is LessonState.Booked;

    internal sealed class Configuration : IEntityTypeConfiguration<LateNote>
    {
        public void Configure(EntityTypeBuilder<LateNote> entity)
        {
            entity.ToTable("late_notes", "diary", t => t.HasCheckConstraint("late_notes_minutes", "minutes >= 0"));
            entity.HasKey(n => n.LessonId);
            // Those told long ago, to be cleared.
            entity.HasIndex(n => n.ToldAt);
            entity.HasOne<Lesson>().WithOne().HasForeignKey<LateNote>(n => n.LessonId).OnDelete(DeleteBehavior.Cascade);
        }
    }
}
