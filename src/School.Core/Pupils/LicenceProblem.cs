using NodaTime;
using NodaTime.Text;

namespace School.Core.Pupils;

/// <summary>Why a licence allows no lesson, for whoever reads it.</summary>
/// <param name="Code">Stable: <c>no_provisional_licence</c>, <c>licence_ended</c>, <c>foreign_licence_ended</c> or <c>disqualified</c>.</param>
/// <param name="Telling">What is wrong and what to do.</param>
/// <param name="On">The day on which it ends, ended or begins; null where it has none.</param>
public sealed record LicenceProblem(string Code, Telling Telling, LocalDate? On)
{
    private static readonly LocalDatePattern Long = LocalDatePattern.CreateWithInvariantCulture("d MMMM uuuu");

    /// <summary>Where the rule stands that a standing breaks.</summary>
    public static string SourceOf(LicenceStanding standing) => standing switch
    {
        LicenceStanding.ForeignEnded => "The Highway Code, Annex 3",
        LicenceStanding.Disqualified or LicenceStanding.SeenBeforeDisqualification => "The Highway Code, Annex 5",
        LicenceStanding.NotSeen or LicenceStanding.NotYetValid or LicenceStanding.Ended or LicenceStanding.ForeignAutomaticOnly
            or LicenceStanding.Learner or LicenceStanding.Holder => "gov.uk/driving-lessons-learning-to-drive",
    };

    /// <summary>The stable code of what stands in the way; null where nothing does.</summary>
    public static string? CodeOf(LicenceStanding standing) => standing switch
    {
        LicenceStanding.NotSeen or LicenceStanding.NotYetValid or LicenceStanding.SeenBeforeDisqualification or LicenceStanding.ForeignAutomaticOnly => "no_provisional_licence",
        LicenceStanding.Ended => "licence_ended",
        LicenceStanding.ForeignEnded => "foreign_licence_ended",
        LicenceStanding.Disqualified => "disqualified",
        LicenceStanding.Learner or LicenceStanding.Holder => null,
    };

    /// <summary>What stands in the way; null where the licence allows a lesson.</summary>
    /// <param name="licence">The licence; null when none was seen.</param>
    /// <param name="standing">What it allows on the day.</param>
    /// <param name="birthDate">The holder's date of birth; null where it is not known.</param>
    /// <param name="today">From when it is told: a day before it is past.</param>
    public static LicenceProblem? Of(Licence? licence, LicenceStanding standing, LocalDate? birthDate, LocalDate today) =>
        CodeOf(standing) is { } code ? new(code, Words(licence, standing, birthDate, today), Day(licence, standing, birthDate)) : null;

    private static LocalDate? Day(Licence? licence, LicenceStanding standing, LocalDate? birthDate) => standing switch
    {
        LicenceStanding.NotYetValid => licence!.ValidFrom,
        LicenceStanding.Ended => licence!.ValidUntil,
        LicenceStanding.ForeignEnded => licence!.ForeignLastDay(birthDate),
        LicenceStanding.Disqualified or LicenceStanding.SeenBeforeDisqualification => licence!.DisqualifiedUntil,
        LicenceStanding.NotSeen or LicenceStanding.ForeignAutomaticOnly or LicenceStanding.Learner or LicenceStanding.Holder => null,
    };

    private static Telling Words(Licence? licence, LicenceStanding standing, LocalDate? birthDate, LocalDate today)
    {
        var past = Day(licence, standing, birthDate) < today;
        var day = Day(licence, standing, birthDate) is { } on ? Long.Format(on) : "";
        var provisional = licence?.Kind == LicenceKind.Provisional ? "provisional licence" : "licence";
        return standing switch
        {
            LicenceStanding.NotYetValid => new(
                $"The pupil's {provisional} is valid from {day}. Choose that date or later.", $"Your {provisional} is valid from {day}. Choose that date or later."),
            LicenceStanding.Ended when past => new(
                $"The pupil's {provisional} ended on {day}. Ask for the new one and enter it.",
                $"Your {provisional} ended on {day}. Renew it and show the new one, or ask the office."),
            LicenceStanding.ForeignEnded when past => new(
                $"Who lives here could drive on this foreign licence until {day}. Now the pupil needs a British one: ask for it and enter it.",
                $"Because you live here you could drive on your foreign licence until {day}. Now you need a British one: show it to the school, or ask the office."),
            LicenceStanding.Ended => new(
                $"The pupil's {provisional} ends on {day}. Ask for the new one and enter it, or choose an earlier date.",
                $"Your {provisional} ends on {day}. Choose an earlier date, or renew it and show the new one."),
            LicenceStanding.ForeignEnded => new(
                $"Who lives here may drive on this foreign licence until {day}. After that the pupil needs a British one: ask for it and enter it.",
                $"Because you live here you may drive on your foreign licence until {day}. After that you need a British one: show it to the school. Choose an earlier date."),
            LicenceStanding.ForeignAutomaticOnly => new(
                "The pupil's foreign licence is for automatics only. For lessons in a manual ask for a British provisional licence and enter it.",
                "Your foreign licence is for automatics only. For lessons in a manual you need a British provisional licence: ask the office."),
            LicenceStanding.Disqualified => new(
                $"The pupil is disqualified from driving until {day}: no lesson on the road before that is over. Choose a later date.",
                $"You are disqualified from driving until {day}: no lesson on the road before that is over. Choose a later date."),
            LicenceStanding.SeenBeforeDisqualification => new(
                $"The pupil was disqualified until {day}. Ask for the licence that was given since, and enter it.",
                $"You were disqualified until {day}, and the school has not seen the licence that you were given since. Show it to your instructor, or ask the office."),
            LicenceStanding.NotSeen or LicenceStanding.Learner or LicenceStanding.Holder => new(
                "No provisional licence is recorded for the pupil. Ask the office to record it first.",
                "The school has not seen your provisional licence yet. Show it to your instructor, or call the office."),
        };
    }
}
