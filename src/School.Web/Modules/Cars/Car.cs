using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Cars;
using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Cars;

internal sealed class Car : Versioned
{
    public const int LongestLabel = 40;

    /// <summary>The Motor Car Act 1903 asked for number plates from this day (from memory).</summary>
    public static readonly LocalDate FirstPlates = new(1904, 1, 1);

    /// <summary>What people call it, such as "silver hatch".</summary>
    public required string Label { get; set; }

    /// <summary>Upper case, single space.</summary>
    public required string Plate { get; set; }

    public required Gearbox Gearbox { get; set; }

    public required bool DualControls { get; set; }

    public required LocalDate FirstRegistered { get; set; }

    public LocalDate? MotExpires { get; set; }

    public LocalDate? TaxExpires { get; set; }

    public LocalDate? InsuranceExpires { get; set; }

    public LocalDate? ServiceDue { get; set; }

    public Sighting MotSeen { get; set; } = Sighting.None;

    public Sighting TaxSeen { get; set; } = Sighting.None;

    public Sighting InsuranceSeen { get; set; } = Sighting.None;

    public Sighting ServiceSeen { get; set; } = Sighting.None;

    public LocalDate? RetiredOn { get; set; }

    public List<OffRoadPeriod> OffRoad { get; } = [];

    public List<Holding> Holdings { get; } = [];

    /// <summary>Takes what was checked by <see cref="CarInput.Check"/>.</summary>
    public static Car From(CarInput input, LocalDate today, Guid? by) => new Car
    {
        Label = "",
        Plate = "",
        Gearbox = default,
        DualControls = default,
        FirstRegistered = default,
    }.Take(input, today, by);

    public Car Take(CarInput input, LocalDate today, Guid? by)
    {
        MotSeen = MotSeen.After(MotExpires, input.MotExpires, today, by);
        TaxSeen = TaxSeen.After(TaxExpires, input.TaxExpires, today, by);
        InsuranceSeen = InsuranceSeen.After(InsuranceExpires, input.InsuranceExpires, today, by);
        ServiceSeen = ServiceSeen.After(ServiceDue, input.ServiceDue, today, by);
        Label = input.Label!;
        Plate = input.Plate!;
        Gearbox = input.Gearbox!.Value;
        DualControls = input.DualControls;
        FirstRegistered = input.FirstRegistered!.Value;
        MotExpires = input.MotExpires;
        TaxExpires = input.TaxExpires;
        InsuranceExpires = input.InsuranceExpires;
        ServiceDue = input.ServiceDue;
        return this;
    }

    public CarSightings Seen() => new(MotSeen, TaxSeen, InsuranceSeen, ServiceSeen);

    /// <param name="offRoad">When it cannot be driven.</param>
    /// <param name="firstMotYears">When a car needs its first MOT where the school is.</param>
    public CarFacts Facts(IReadOnlyList<Interval> offRoad, int firstMotYears) =>
        new(Id, Gearbox, DualControls, FirstRegistered, MotExpires, TaxExpires, InsuranceExpires, ServiceDue, offRoad) { FirstMotYears = firstMotYears };

    internal sealed class Configuration : IEntityTypeConfiguration<Car>
    {
        public void Configure(EntityTypeBuilder<Car> entity)
        {
            entity.ToTable("cars", "cars");
            entity.ComplexProperty(c => c.MotSeen);
            entity.ComplexProperty(c => c.TaxSeen);
            entity.ComplexProperty(c => c.InsuranceSeen);
            entity.ComplexProperty(c => c.ServiceSeen);
            entity.HasIndex(c => c.Plate).IsUnique().HasDatabaseName("cars_plate_once");
            entity.HasMany(c => c.OffRoad).WithOne().HasForeignKey(o => o.CarId);
            entity.HasMany(c => c.Holdings).WithOne().HasForeignKey(h => h.CarId);
        }
    }
}

/// <summary>A time in which the car cannot be driven: garage, repair, declared off the road.</summary>
internal sealed class OffRoadPeriod : Versioned
{
    public required Guid CarId { get; init; }

    public required Instant StartsAt { get; set; }

    /// <summary>Open where nobody knows yet.</summary>
    public Instant? EndsAt { get; set; }

    public required string Reason { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<OffRoadPeriod>
    {
        public void Configure(EntityTypeBuilder<OffRoadPeriod> entity)
        {
            entity.ToTable("off_road", "cars", t => t.HasCheckConstraint("off_road_end_after_start", "ends_at IS NULL OR ends_at > starts_at"));
            entity.Property(o => o.Id).ValueGeneratedNever();
        }
    }
}

/// <summary>
/// Who has the car in which dates. A standing holding has no end; a dated exception is a standing holding cut in two with
/// another's between, so at any moment there is one holder at most (held by an exclusion constraint).
/// </summary>
internal sealed class Holding
{
    public Guid Id { get; init; } = RowId.New();

    public required Guid CarId { get; init; }

    public required Guid InstructorId { get; init; }

    public required LocalDate From { get; init; }

    /// <summary>Last day, inclusive; open where nobody knows yet.</summary>
    public LocalDate? To { get; set; }

    /// <summary>Whether it was given without an end. Only such a holding is cut by a dated one; its pieces stay standing.</summary>
    public bool Standing { get; init; } = true;

    internal sealed class Configuration : IEntityTypeConfiguration<Holding>
    {
        public void Configure(EntityTypeBuilder<Holding> entity)
        {
            entity.ToTable("holdings", "cars", t => t.HasCheckConstraint("holdings_end_after_start", "\"to\" IS NULL OR \"to\" >= \"from\""));
            entity.Property(h => h.Id).ValueGeneratedNever();
            entity.HasIndex(h => h.InstructorId);
        }
    }
}
