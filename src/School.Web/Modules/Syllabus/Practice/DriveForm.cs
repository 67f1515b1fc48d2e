using Microsoft.AspNetCore.Mvc.ModelBinding;
using NodaTime;

namespace School.Web.Modules.Syllabus.Practice;

/// <summary>A drive between lessons as the form has it.</summary>
internal sealed class DriveForm
{
    public LocalDate? On { get; set; }

    public int? Minutes { get; set; }

    public string? Supervisor { get; set; }

    public List<PracticeCondition> Conditions { get; set; } = [];

    public List<string> Skills { get; set; } = [];

    [BindNever]
    public PracticeInput Sent => new(On, Minutes, Supervisor, Conditions, Skills);

    public static DriveForm Of(PrivatePractice drive) => new()
    {
        On = drive.On,
        Minutes = drive.Minutes,
        Supervisor = drive.Supervisor,
        Conditions = [.. drive.Conditions],
        Skills = [.. drive.Skills],
    };
}
