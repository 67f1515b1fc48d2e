using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Diary.TestDays;
using School.Core.Syllabus.Mocks;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus.Mocks;

/// <summary>One fault as it was noted.</summary>
internal sealed record NotedFault
{
    /// <summary>Rises within the mock test; tells two faults of the same kind apart.</summary>
    public required int Number { get; init; }

    public required string Heading { get; init; }

    public required FaultKind Kind { get; init; }

    public string Note { get; init; } = "";

    public string Words => Heading == TestHeadings.Eyesight ? "Eyesight test failed" : $"{TestHeadings.Find(Heading)!.Words}, {Kind.Word()}";

    public MockFault Fault() => new(Heading, Kind);
}

/// <summary>A practice test marked as the official one is. The pupil reads it once it is finished.</summary>
internal sealed class MockTest : Versioned
{
    public const int MostFaults = 200;
    public const int MostEta = 99;
    public const int LongestFaultNote = 200;
    public const int LongestNote = 1000;

    public required Guid PupilId { get; init; }

    public required LocalDate On { get; set; }

    /// <summary>The lesson it was part of; null for one by itself.</summary>
    public Guid? LessonId { get; set; }

    /// <summary>In the order they were noted.</summary>
    public List<NotedFault> Faults { get; set; } = [];

    /// <summary>How often whoever sat beside the pupil spoke up or took hold: noted, not a fault.</summary>
    public int EtaVerbal { get; set; }

    public int EtaPhysical { get; set; }

    /// <summary>The pupil reads it.</summary>
    public string Note { get; set; } = "";

    /// <summary>The lesson that ran when somebody said that they are parked, or that another supervises, and who that was.</summary>
    public Guid? SaidForLesson { get; private set; }

    public Guid? SaidBy { get; private set; }

    /// <summary>When that was said, or they last wrote on the sheet since.</summary>
    public Instant? SaidAt { get; private set; }

    public required Instant StartedAt { get; init; }

    public required Guid RecordedBy { get; init; }

    public required string RecordedByName { get; init; }

    public Instant? FinishedAt { get; set; }

    public TestMarks Sum => MockMarking.Sum(Faults.Select(fault => fault.Fault()));

    public IReadOnlyList<HeadingMarks> ByHeading => MockMarking.ByHeading(Faults.Select(fault => fault.Fault()));

    /// <summary>Keeps for whom the sheet is open although a lesson runs.</summary>
    public void SayFor(Guid lesson, Guid person, Instant now) => (SaidForLesson, SaidBy, SaidAt) = (lesson, person, now);

    public bool IsSaidFor(Guid lesson, Guid person, Instant now) => SaidForLesson == lesson && SaidBy == person && SaidAt is { } at && now - at < DeviceRule.Lapses;

    /// <summary>The number of the next fault.</summary>
    public int Next => Faults.Count == 0 ? 1 : Faults.Max(fault => fault.Number) + 1;

    internal sealed class Configuration : IEntityTypeConfiguration<MockTest>
    {
        public void Configure(EntityTypeBuilder<MockTest> entity)
        {
            entity.ToTable("mock_tests", "syllabus");
            entity.OwnsMany(m => m.Faults, faults =>
            {
                faults.ToJson("faults");
                faults.Ignore(fault => fault.Words);
            });
            entity.Ignore(m => m.Sum);
            entity.Ignore(m => m.ByHeading);
            entity.Ignore(m => m.Next);
            entity.HasIndex(m => new { m.PupilId, m.On });
        }
    }
}

/// <summary>One line of what was put right about a finished mock test: who, when, what. Only ever added.</summary>
internal sealed class MockTestChange
{
    public Guid Id { get; init; } = RowId.New();

    public required Guid MockTestId { get; init; }

    public required Instant At { get; init; }

    public required Guid ByPersonId { get; init; }

    public required string ByName { get; init; }

    public required string Words { get; init; }

    internal sealed class Configuration : IEntityTypeConfiguration<MockTestChange>
    {
        public void Configure(EntityTypeBuilder<MockTestChange> entity)
        {
            entity.ToTable("mock_test_changes", "syllabus");
            entity.Property(c => c.Id).ValueGeneratedNever();
            entity.HasIndex(c => c.MockTestId);
        }
    }
}

internal static class MockTestRows
{
    /// <summary>Staff every pupil's, a pupil their own finished ones.</summary>
    public static IQueryable<MockTest> VisibleTo(this IQueryable<MockTest> mocks, Viewer viewer) =>
        viewer.KeepsLearning ? mocks : mocks.Where(m => m.PupilId == viewer.PupilId && m.FinishedAt != null);
}
