using NodaTime;
using School.Core;
using School.Core.Cars;
using School.Core.Pupils;
using School.Web.Modules.School.Contracts;
using School.Web.Modules.Travel.Contracts;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Pupils;

/// <summary>A pupil as the office sends it; what is guarded goes its own way.</summary>
internal record PupilInput : ContactInput
{
    private const int YoungestAtEntry = 14;
    private const int OldestAtEntry = 110;
    private const int ShortestLesson = 30;
    private const int LongestLesson = 300;
    private const int LeastWeek = 30;
    private const int MostWeek = 3000;

    [Needed, AtMost(Pupil.LongestName)]
    public string? Name { get; init; }

    /// <summary>Null while it is still to be asked; no lesson before.</summary>
    public LocalDate? BirthDate { get; init; }

    public bool MobilityAward { get; init; }

    /// <summary>Null while it is still to be asked; no lesson before.</summary>
    public Gearbox? Gearbox { get; init; }

    /// <summary>The licence as it was seen; null where none was.</summary>
    public LicenceInput? Licence { get; init; }

    /// <summary>The same as a provisional licence from this day on. Send one of the two.</summary>
    public LocalDate? ProvisionalFrom { get; init; }

    public Guid? UsualInstructorId { get; init; }

    [Between(LeastWeek, MostWeek)]
    public int? WeeklyMinutes { get; init; }

    [Between(ShortestLesson, LongestLesson)]
    public int? LessonMinutes { get; init; }

    public bool NeedsDualControls { get; init; } = true;

    [AtMost(Pupil.LongestNeed)]
    public string? Need { get; init; }

    [AtMost(Pupil.LongestNotes)]
    public string? Notes { get; init; }

    public static new PupilInput Of(Pupil pupil) => new()
    {
        Email = pupil.Email,
        Phone = Platform.Forms.Phone.Display(pupil.Phone),
        PickUp = PlaceInput.Of(pupil.PickUp),
        EmergencyName = pupil.EmergencyName,
        EmergencyPhone = Platform.Forms.Phone.Display(pupil.EmergencyPhone),
        Name = pupil.Name,
        BirthDate = pupil.BirthDate,
        MobilityAward = pupil.MobilityAward,
        Gearbox = pupil.Gearbox,
        Licence = LicenceInput.Of(pupil.SeenLicence()),
        UsualInstructorId = pupil.UsualInstructorId,
        WeeklyMinutes = pupil.WeeklyMinutes,
        LessonMinutes = pupil.LessonMinutes,
        NeedsDualControls = pupil.NeedsDualControls,
        Need = pupil.Need,
        Notes = pupil.Notes,
    };

    /// <summary>Takes it over where it is right, and says what is not. The usual instructor is checked by the verb.</summary>
    public void Into(Pupil pupil, FieldErrors errors, LocalDate today, Guid? by)
    {
        pupil.Name = errors.ReadLine(nameof(Name), Name, Pupil.LongestName, "Enter the pupil's name.");
        ContactInto(pupil, errors);
        new TeachingInput(Need, Notes).Into(pupil, errors);
        var born = CheckBirthDate(errors, pupil.BirthDate, today);
        // What is still to be asked may stay open; what was known once is not left out again.
        errors.When(Gearbox is null && pupil.Gearbox is not null, nameof(Gearbox), "Say whether the pupil learns in a manual or an automatic.");
        errors.When(LessonMinutes is < ShortestLesson or > LongestLesson, nameof(LessonMinutes), $"A lesson takes {ShortestLesson} to {LongestLesson} minutes.");
        errors.When(WeeklyMinutes is < LeastWeek or > MostWeek, nameof(WeeklyMinutes), $"A weekly limit is {LeastWeek} to {MostWeek} minutes. Leave it empty for none.");
        pupil.BirthDate = BirthDate;
        pupil.MobilityAward = MobilityAward;
        pupil.Gearbox = Gearbox;
        pupil.Take(ReadLicence(errors, pupil.SeenLicence(), born, today), today, by);
        pupil.UsualInstructorId = UsualInstructorId;
        pupil.WeeklyMinutes = WeeklyMinutes;
        pupil.LessonMinutes = LessonMinutes ?? Pupil.UsualLessonMinutes;
        pupil.NeedsDualControls = NeedsDualControls;
    }

    /// <summary>The date of birth where it can be one.</summary>
    /// <summary>Why a date can be nobody's date of birth who learns to drive; null where it can.</summary>
    public static string? BirthDateProblem(LocalDate born, LocalDate today) =>
        born < today.PlusYears(-OldestAtEntry) ? $"This is more than {OldestAtEntry} years ago. Check the year."
        : born > today.PlusYears(-YoungestAtEntry) ? $"A pupil is at least {YoungestAtEntry} years old. Check the year."
        : null;

    private LocalDate? CheckBirthDate(FieldErrors errors, LocalDate? before, LocalDate today)
    {
        var problem = BirthDate is null ? before is null ? null : "Enter the date of birth."
            : BirthDateProblem(BirthDate.Value, today);
        if (problem is not null)
        {
            errors.Add(nameof(BirthDate), problem);
            return null;
        }

        return BirthDate;
    }

    private Licence? ReadLicence(FieldErrors errors, Licence? before, LocalDate? born, LocalDate today)
    {
        // Told beside the licence, so that it comes back with it, or alone from who knows only this day.
        if (ProvisionalFrom is not { } from || Licence is { Kind: LicenceKind.Provisional } told && told.ValidFrom == from)
        {
            return Licence?.Read(errors, nameof(Licence), born, today);
        }

        errors.When(Licence is { IsEmpty: false }, nameof(ProvisionalFrom), "Send the licence or the day from which a provisional one is valid, not both.");
        LicenceInput.CheckFrom(errors, nameof(ProvisionalFrom), LicenceKind.Provisional, from, born, today);
        return before is { Kind: LicenceKind.Provisional } && before.ValidFrom == from ? before : Core.Pupils.Licence.Provisional(from);
    }
}

/// <summary>A pupil who is new, with what is guarded.</summary>
internal sealed record NewPupilInput : PupilInput
{
    [AtMost(Core.Pupils.DriverNumber.LongestTyped)]
    public string? DriverNumber { get; init; }

    [AtMost(Pupil.LongestNotes)]
    public string? HealthNotes { get; init; }
}

/// <summary>What an instructor notes between lessons.</summary>
internal sealed record TeachingInput([property: AtMost(Pupil.LongestNeed)] string? Need, [property: AtMost(Pupil.LongestNotes)] string? Notes)
{
    public void Into(Pupil pupil, FieldErrors errors)
    {
        pupil.Need = errors.ReadLine(nameof(Need), Need, Pupil.LongestNeed);
        pupil.Notes = errors.ReadLines(nameof(Notes), Notes, Pupil.LongestNotes);
    }
}
