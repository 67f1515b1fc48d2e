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

    /// <summary>From this age on one may ask for a provisional licence: 15 years and 9 months (gov.uk/driving-lessons-learning-to-drive).</summary>
    private static readonly Period AgeForProvisional = Period.FromMonths((15 * 12) + 9);

    [Needed, AtMost(Pupil.LongestName)]
    public string? Name { get; init; }

    [Needed]
    public LocalDate? BirthDate { get; init; }

    public bool MobilityAward { get; init; }

    [Needed]
    public Gearbox? Gearbox { get; init; }

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
        ProvisionalFrom = pupil.ProvisionalFrom,
        UsualInstructorId = pupil.UsualInstructorId,
        WeeklyMinutes = pupil.WeeklyMinutes,
        LessonMinutes = pupil.LessonMinutes,
        NeedsDualControls = pupil.NeedsDualControls,
        Need = pupil.Need,
        Notes = pupil.Notes,
    };

    /// <summary>Takes it over where it is right, and says what is not. The usual instructor is checked by the verb.</summary>
    public void Into(Pupil pupil, FieldErrors errors, LocalDate today)
    {
        pupil.Name = errors.ReadLine(nameof(Name), Name, Pupil.LongestName, "Enter the pupil's name.");
        ContactInto(pupil, errors);
        new TeachingInput(Need, Notes).Into(pupil, errors);
        CheckDates(errors, today);
        errors.When(Gearbox is null, nameof(Gearbox), "Say whether the pupil learns in a manual or an automatic.");
        errors.When(LessonMinutes is < ShortestLesson or > LongestLesson, nameof(LessonMinutes), $"A lesson takes {ShortestLesson} to {LongestLesson} minutes.");
        errors.When(WeeklyMinutes is < LeastWeek or > MostWeek, nameof(WeeklyMinutes), $"A weekly limit is {LeastWeek} to {MostWeek} minutes. Leave it empty for none.");
        pupil.BirthDate = BirthDate ?? default;
        pupil.MobilityAward = MobilityAward;
        pupil.Gearbox = Gearbox ?? default;
        pupil.ProvisionalFrom = ProvisionalFrom;
        pupil.UsualInstructorId = UsualInstructorId;
        pupil.WeeklyMinutes = WeeklyMinutes;
        pupil.LessonMinutes = LessonMinutes ?? Pupil.UsualLessonMinutes;
        pupil.NeedsDualControls = NeedsDualControls;
    }

    private void CheckDates(FieldErrors errors, LocalDate today)
    {
        var problem = BirthDate is null ? "Enter the date of birth."
            : BirthDate < today.PlusYears(-OldestAtEntry) ? $"This is more than {OldestAtEntry} years ago. Check the year."
            : BirthDate > today.PlusYears(-YoungestAtEntry) ? $"A pupil is at least {YoungestAtEntry} years old. Check the year."
            : null;
        if (problem is not null)
        {
            errors.Add(nameof(BirthDate), problem);
            return;
        }

        errors.When(ProvisionalFrom < BirthDate!.Value + AgeForProvisional, nameof(ProvisionalFrom), "Nobody has a provisional licence before the age of 15 years and 9 months. Check both dates.");
        errors.When(ProvisionalFrom > today.PlusYears(3), nameof(ProvisionalFrom), "This is more than three years ahead. Check the year.");
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
