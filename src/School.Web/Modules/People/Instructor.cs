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

    public required string Email { get; set; }

    /// <summary>E.164.</summary>
    public required string Phone { get; set; }

    public required List<Gearbox> Teaches { get; set; }

    public required RegistrationKind Registration { get; set; }

    public required string RegistrationNumber { get; set; }

    public LocalDate? RegisteredFrom { get; set; }

    /// <summary>Null while it is still to be asked; no lesson before.</summary>
    public required LocalDate? RegisteredTo { get; set; }

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

    /// <summary>The last day of the registration; a day long gone while that or where the day begins is still to be asked.</summary>
    public LocalDate MayTeachUntil() => RegisteredTo is { } last && Base.IsKnown && Teaches.Count > 0 ? last : InstructorFacts.NotAsked;

    /// <summary>Takes over everything that a form changes.</summary>
    public void TakeOver(Instructor other)
    {
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
            entity.Property(i => i.TraineeOption).HasConversion<string>();
            entity.PrimitiveCollection(i => i.Serves).HasDefaultValueSql("'{}'");
            entity.PrimitiveCollection(i => i.Teaches).ElementType(e => e.HasConversion<string>());
        }
    }
}
