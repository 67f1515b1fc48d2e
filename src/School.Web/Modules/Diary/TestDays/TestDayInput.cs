using System.ComponentModel.DataAnnotations;
using NodaTime;
using School.Core.Cars;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Settings;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.TestDays;

/// <summary>A test day as a form sends it: day and time apart, the centre one of those entered before or a new one.</summary>
internal sealed class TestDayInput
{
    /// <summary>Value of the car choice that means the pupil drives another car than the school's.</summary>
    public const string OtherCar = "other";

    public Guid? PupilId { get; set; }

    [Required(ErrorMessage = "Enter the day of the test.")]
    public LocalDate? Date { get; set; }

    [Required(ErrorMessage = "Enter the time of the test.")]
    public LocalTime? Time { get; set; }

    /// <summary>The test day whose centre is meant; none where the centre is typed.</summary>
    public Guid? SameCentreAs { get; set; }

    public PlaceInput Centre { get; set; } = new();

    public string? Nation { get; set; }

    public string? Reference { get; set; }

    public Gearbox? Gearbox { get; set; }

    public Guid? InstructorId { get; set; }

    public string? Car { get; set; }

    public int? LeadMinutes { get; set; }

    public int? TailMinutes { get; set; }

    public bool EndsAtPickUp { get; set; }

    public bool Extended { get; set; }

    /// <summary>Where the test takes another time than the school usually keeps for such a one.</summary>
    public int? Minutes { get; set; }

    public bool InsuredForTest { get; set; }

    /// <summary>Whether the test has been taken already, and the result comes along.</summary>
    public bool Taken { get; set; }

    public TestResultInput Result { get; set; } = new();

    public int Version { get; set; }

    public static TestDayInput Of(TestDay test, SchoolFacts school)
    {
        var start = test.StartsAt.InZone(school.Zone);
        return new()
        {
            PupilId = test.PupilId,
            Date = start.Date,
            Time = start.TimeOfDay,
            Centre = PlaceInput.Of(test.Centre),
            Nation = NationSlugs.Of(test.Nation),
            Reference = test.Reference,
            Gearbox = test.Gearbox,
            InstructorId = test.InstructorId,
            Car = test.OwnCar ? OtherCar : test.CarId?.ToString(),
            LeadMinutes = test.LeadMinutes,
            TailMinutes = test.TailMinutes,
            EndsAtPickUp = test.EndsAtPickUp,
            Extended = test.Extended,
            InsuredForTest = test.InsuredSeenOn is not null,
            Version = test.Version,
        };
    }

    /// <summary>What the verb takes, or why it cannot be read.</summary>
    public Outcome<TestDayRequest> Read(Guid pupilId, SchoolFacts school, IEnumerable<TestDay> centres)
    {
        var errors = new FieldErrors().When(Date!.Value.Year > 3000, nameof(Date), "Look at the year.");
        if (errors.ToRefusal() is { } invalid)
        {
            return invalid;
        }

        var start = errors.ReadStart(nameof(Time), Date.Value + Time!.Value, school.Zone);
        var known = SameCentreAs is { } id ? centres.FirstOrDefault(t => t.Id == id) : null;
        return errors.ToRefusal() is { } skipped ? skipped : new TestDayRequest(
            pupilId, start, known is null ? Centre : PlaceInput.Of(known.Centre), known is null ? Nation : NationSlugs.Of(known.Nation), Reference, Gearbox,
            InstructorId, Guid.TryParse(Car, out var car) ? car : null, Car == OtherCar, LeadMinutes, TailMinutes, EndsAtPickUp, InsuredForTest, Extended, Minutes)
        {
            Result = Taken ? Result.ToRequest() : null,
        };
    }

    /// <summary>The verb speaks of a start and a car's id; the form has a day, a time and a choice.</summary>
    public static Refusal ToForm(Refusal refusal) => refusal with
    {
        Fields = refusal.Fields.ToDictionary(f => f.Key switch { "Start" => nameof(Date), "CarId" => nameof(Car), _ => f.Key }, f => f.Value),
    };
}

/// <summary>A result as a form sends it.</summary>
internal sealed class TestResultInput
{
    /// <summary>"passed", "failed", or another ending.</summary>
    public string? Outcome { get; set; }

    public int? Driving { get; set; }

    public int? Serious { get; set; }

    public int? Dangerous { get; set; }

    /// <summary>Faults by the code of their heading.</summary>
    public Dictionary<string, MarksInput> Faults { get; set; } = [];

    public int? EtaVerbal { get; set; }

    public int? EtaPhysical { get; set; }

    public string? Note { get; set; }

    public bool AgainstRule { get; set; }

    public int Version { get; set; }

    public static TestResultInput Of(TestDay test) => new()
    {
        Outcome = !test.HasResult ? null : test.Ending is { } ending and not TestEnding.Completed ? ending.ToString() : test.State is TestDayState.Passed ? "passed" : "failed",
        Driving = test.HasResult ? test.Driving : null,
        Serious = test.HasResult ? test.Serious : null,
        Dangerous = test.HasResult ? test.Dangerous : null,
        Faults = test.Marks.ToDictionary(m => m.Heading, m => new MarksInput
        {
            Driving = Shown(m.Driving),
            Serious = Shown(m.Serious),
            Dangerous = Shown(m.Dangerous),
        }),
        EtaVerbal = Shown(test.EtaVerbal),
        EtaPhysical = Shown(test.EtaPhysical),
        Note = test.Note,
        Version = test.Version,
    };

    private TestEnding? Ending => Enum.TryParse<TestEnding>(Outcome, out var ending) && ending is not TestEnding.Completed ? ending : null;

    /// <summary>What is missing, by field.</summary>
    public FieldErrors Missing() => new FieldErrors()
        .When(Outcome is not ("passed" or "failed") && Ending is null, nameof(Outcome), "Choose how it ended.")
        .When(Ending is null && Driving is null, nameof(Driving), "Enter the number of driving faults, 0 where there were none.")
        .When(Ending is null && Serious is null, nameof(Serious), "Enter the number of serious faults, 0 where there were none.")
        .When(Ending is null && Dangerous is null, nameof(Dangerous), "Enter the number of dangerous faults, 0 where there were none.");

    public TestResultRequest ToRequest() => new(
        Outcome == "passed", Driving ?? 0, Serious ?? 0, Dangerous ?? 0,
        [.. Faults.Where(f => !f.Value.IsEmpty).Select(f => new HeadingMarksBody(f.Key, f.Value.Driving ?? 0, f.Value.Serious ?? 0, f.Value.Dangerous ?? 0))],
        EtaVerbal ?? 0, EtaPhysical ?? 0, Note, AgainstRule, Ending ?? TestEnding.Completed);

    private static int? Shown(int count) => count == 0 ? null : count;
}

internal sealed class MarksInput
{
    public int? Driving { get; set; }

    public int? Serious { get; set; }

    public int? Dangerous { get; set; }

    public bool IsEmpty => (Driving ?? 0) == 0 && (Serious ?? 0) == 0 && (Dangerous ?? 0) == 0;
}
