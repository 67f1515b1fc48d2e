using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Lessons;

internal enum ChangeKind
{
    Booked,
    Moved,
    Cancelled,
    Recorded,
    Missed,
    PlacesChanged,

    /// <summary>The pupil was told that it starts late, or on time after all.</summary>
    ToldLate,

    /// <summary>Made another kind of lesson, or longer or shorter.</summary>
    BecameAnother,
}

/// <summary>One line of a lesson's history: who changed what, when. Only ever added.</summary>
internal sealed class LessonChange
{
    public Guid Id { get; init; } = RowId.New();

    public required Guid LessonId { get; init; }

    public required ChangeKind Kind { get; init; }

    public required Instant At { get; init; }

    public required Guid ByPersonId { get; init; }

    public required string ByName { get; init; }

    /// <summary>A sentence: "Moved from Tue 3 Nov 10:00 to Wed 4 Nov 12:00."</summary>
    public required string Words { get; init; }

    /// <summary>The same for who sees the pupil by name alone: what was written down in the lesson stands with the record.</summary>
    public string WordsByName => Kind is ChangeKind.Recorded ? "What was taught was written down." : Words;

    public Instant? StartsAt { get; init; }

    public Guid? InstructorId { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<LessonChange>
    {
        public void Configure(EntityTypeBuilder<LessonChange> entity)
        {
            entity.ToTable("lesson_changes", "diary");
            entity.Property(c => c.Id).ValueGeneratedNever();
            // Lesson first: one index finds the history of a lesson and tells its lines apart, where there were two.
            entity.HasKey(c => new { c.LessonId, c.Id });
        }
    }
}
