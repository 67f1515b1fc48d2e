using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Cars;
using School.Core.Diary;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.People;

internal sealed class Instructor : Versioned
{
    public required string Name { get; set; }

    /// <summary>Empty where the instructor is reached by phone alone.</summary>
    public required string Email { get; set; }

    /// <summary>E.164; empty where the instructor is reached by e-mail alone.</summary>
    public required string Phone { get; set; }

    public required List<Gearbox> Teaches { get; set; }

    /// <summary>Null while it is still to be asked; no lesson before.</summary>
    public required RegistrationKind? Registration { get; set; }

    public required string RegistrationNumber { get; set; }

    public LocalDate? RegisteredFrom { get; set; }

    /// <summary>Null while it is still to be asked; no lesson before.</summary>
    public required LocalDate? RegisteredTo { get; set; }

    public Sighting RegistrationSeen { get; set; } = Sighting.None;

    /// <summary>A trainee's choice; null where it is not recorded yet.</summary>
    public TraineeOption? TraineeOption { get; set; }

    /// <summary>When a trainee applied for another licence that is not decided yet.</summary>
    public LocalDate? AppliedAgainOn { get; set; }

    public required Place Base { get; set; }

    /// <summary>Own limit of teaching minutes a day; the school's when null.</summary>
    public int? DailyTeachingMinutes { get; set; }

    /// <summary>The areas served, by their ids; empty for every place.</summary>
    public List<Guid> Serves { get; set; } = [];

    public LocalDate? RetiredOn { get; set; }

    /// <summary>The last day of the registration; a day long gone while anything that a first lesson needs is still to be asked.</summary>
    public LocalDate MayTeachUntil() => RegisteredTo is { } last && StillNeeded().Count == 0 ? last : InstructorFacts.NotAsked;

    /// <summary>What is still needed before the first lesson: the name of the member that holds it, and in words.</summary>
    public IReadOnlyList<(string Name, string Words)> StillNeeded() =>
    [
        .. new[]
        {
            (Teaches.Count == 0, "teaches", "which cars they teach in"), (Registration is null, "registration", "whether they are approved or a trainee"),
            (RegistrationNumber.Length == 0, "registrationNumber", "the number on the certificate or licence"),
            (Registration == RegistrationKind.Trainee && RegisteredFrom is null, "registeredFrom", "the first day of the licence"), (RegisteredTo is null, "registeredTo", "its last day"),
            (!Base.IsKnown, "base", "where their day begins"),
        }.Where(need => need.Item1).Select(need => (need.Item2, need.Item3)),
    ];

    /// <summary>Takes over everything that a form changes.</summary>
    public void TakeOver(Instructor other, LocalDate today, Guid? by)
    {
        // A licence instead of a registration is another paper, even where it ends on the same day.
        RegistrationSeen = (Registration == other.Registration ? RegistrationSeen : Sighting.None).After(
            Registration == other.Registration ? RegisteredTo : null, other.RegisteredTo, today, by);
        (Name, Email, Phone, Teaches) = (other.Name, other.Email, other.Phone, other.Teaches);
        (Registration, RegistrationNumber, RegisteredFrom, RegisteredTo) =
            (other.Registration, other.RegistrationNumber, other.RegisteredFrom, other.RegisteredTo);
        (TraineeOption, AppliedAgainOn) = (other.TraineeOption, other.AppliedAgainOn);
        (Base, DailyTeachingMinutes) = (other.Base, other.DailyTeachingMinutes);
    }

    internal sealed class Configuration : IEntityTypeConfiguration<Instructor>
    {
        public void Configure(EntityTypeBuilder<Instructor> entity)
        {
            entity.ToTable("instructors", "people");
            entity.ComplexProperty(i => i.Base);
            entity.ComplexProperty(i => i.RegistrationSeen);
            entity.Property(i => i.TraineeOption).HasConversion<string>();
            entity.PrimitiveCollection(i => i.Serves).HasDefaultValueSql("'{}'");
            entity.PrimitiveCollection(i => i.Teaches).ElementType(e => e.HasConversion<string>());
        }
    }
}
