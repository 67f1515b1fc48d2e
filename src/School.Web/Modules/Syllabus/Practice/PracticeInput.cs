using NodaTime;
using School.Core;
using School.Core.Pupils;
using School.Core.Syllabus;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Syllabus.Practice;

/// <summary>A drive between lessons as it was typed or sent.</summary>
internal sealed record PracticeInput(
    [property: Needed] LocalDate? On, [property: Needed, Between(1, PrivatePractice.MostMinutes)] int? Minutes, [property: Needed, AtMost(PrivatePractice.LongestName)] string? Supervisor,
    [property: Items(0, PrivatePractice.MostConditions)] IReadOnlyList<PracticeCondition>? Conditions = null,
    [property: Items(0, SyllabusEdition.MostSkills), AtMost(Skill.LongestKey)] IReadOnlyList<string>? Skills = null)
{
    public Outcome<PracticeInput> Check(PupilCard pupil, SyllabusEdition edition, LocalDate today)
    {
        var errors = new FieldErrors();
        var ofAge = pupil.BirthDate is { } born ? LearnerAge.EarliestLesson(born, pupil.MobilityAward) : (LocalDate?)null;
        errors.When(On is null, nameof(On), "Enter the day of the drive.");
        errors.When(On > today, nameof(On), "This day is still to come. Log the drive once it is over.");
        if (On < ofAge)
        {
            errors.Add(nameof(On), $"Learners may drive on the road from {ScreenWords.DayAndYear(ofAge.Value)} on, by their age. Check the year.");
        }
        else if (On < pupil.Licence?.ValidFrom)
        {
            errors.Add(
                nameof(On),
                $"The {(pupil.Licence.Kind == LicenceKind.Provisional ? "provisional" : "driving")} licence runs from {ScreenWords.DayAndYear(pupil.Licence.ValidFrom.Value)} on. Check the year.");
        }

        errors.When(Minutes is null or < 1 or > PrivatePractice.MostMinutes, nameof(Minutes), $"Enter the minutes driven, from 1 to {PrivatePractice.MostMinutes}.");
        var supervisor = errors.ReadLine(nameof(Supervisor), Supervisor, PrivatePractice.LongestName, "Enter who sat beside the learner.");
        var conditions = (Conditions ?? []).Distinct().Order().ToList();
        errors.When(conditions.Exists(c => !Enum.IsDefined(c)), nameof(Conditions), "Choose from the list of conditions.");
        errors.When(Conditions?.Count > PrivatePractice.MostConditions, nameof(Conditions), "Name each condition once.");
        errors.When(Skills?.Count > SyllabusEdition.MostSkills, nameof(Skills), "Name each skill once.");
        var skills = (Skills ?? []).ToHashSet(StringComparer.Ordinal);
        errors.When(skills.Any(key => key is null || edition.Find(key) is null), nameof(Skills), "One of these skills is not in the syllabus. Choose from its list.");
        return errors.ToRefusal() is { } refusal
            ? refusal
            : new PracticeInput(On, Minutes, supervisor, conditions, [.. edition.Skills.Select(skill => skill.Key).Where(skills.Contains)]);
    }
}
