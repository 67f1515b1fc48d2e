using NodaTime;
using School.Core.Cars;

namespace School.Core.Pupils;

/// <summary>What kind of driving licence somebody brings.</summary>
public enum LicenceKind
{
    /// <summary>A learner's.</summary>
    Provisional,

    /// <summary>Full, for any gearbox.</summary>
    FullManual,

    /// <summary>Full, for automatics only (code 78); for a manual it counts as provisional.</summary>
    FullAutomatic,

    /// <summary>Full, given by another country.</summary>
    Foreign,

    /// <summary>Taken away by a court until a day.</summary>
    Disqualified,
}

/// <summary>What a licence allows in a car of one gearbox on one day.</summary>
public enum LicenceStanding
{
    /// <summary>None was seen.</summary>
    NotSeen,

    /// <summary>It begins later.</summary>
    NotYetValid,

    /// <summary>It has ended.</summary>
    Ended,

    /// <summary>It is foreign, and who lives here may not drive on it any longer.</summary>
    ForeignEnded,

    /// <summary>It is foreign, for automatics only, and the car is a manual.</summary>
    ForeignAutomaticOnly,

    /// <summary>The holder is disqualified.</summary>
    Disqualified,

    /// <summary>The disqualification is over, and what came after it was not seen.</summary>
    SeenBeforeDisqualification,

    /// <summary>It allows driving as a learner: with plates and somebody beside.</summary>
    Learner,

    /// <summary>It allows driving alone.</summary>
    Holder,
}

/// <summary>A British provisional licence that is held beside a foreign one.</summary>
/// <param name="ValidFrom">First day (4a).</param>
/// <param name="ValidUntil">Last day (4b), that day included; null where none was seen.</param>
public sealed record ProvisionalBeside(LocalDate ValidFrom, LocalDate? ValidUntil = null)
{
    /// <summary>Whether its holder may learn on it on a day.</summary>
    public bool HoldsOn(LocalDate day) => day >= ValidFrom && !(day > ValidUntil);
}

/// <summary>A driving licence as it was seen.</summary>
/// <remarks>
/// Sources. Foreign, at most 12 months from becoming resident: The Highway Code, Annex 3; within them no plates and no supervisor:
/// askthe.police.uk, Q417 (an old copy). From the EU or the EEA to the age of 70 or three years after becoming resident, whichever is
/// later: second-hand. Code 78 and that an automatic licence is provisional for a manual: from memory.
/// </remarks>
/// <param name="Kind">What kind.</param>
/// <param name="ValidFrom">First day (4a); null where it is not known, which only a disqualification does without.</param>
/// <param name="ValidUntil">Last day (4b), that day included; null where none was seen.</param>
/// <param name="ResidentSince">Foreign: the day on which the holder became resident in Great Britain.</param>
/// <param name="DisqualifiedUntil">Disqualified: the last day of it.</param>
/// <param name="FromEea">Foreign: whether a state of the EU or the EEA gave it.</param>
/// <param name="Conditions">The codes of field 12, such as 01.</param>
public sealed record Licence(
    LicenceKind Kind,
    LocalDate? ValidFrom,
    LocalDate? ValidUntil = null,
    LocalDate? ResidentSince = null,
    LocalDate? DisqualifiedUntil = null,
    bool FromEea = false,
    IReadOnlyList<string>? Conditions = null)
{
    /// <summary>Months for which a resident may drive on a foreign licence.</summary>
    public const int ForeignMonths = 12;

    /// <summary>Foreign: the British provisional licence held as well; while the foreign one counts its holder drives on that.</summary>
    /// <remarks>Within the months of a foreign licence no plates and no supervisor, also while holding a provisional: askthe.police.uk, Q417 (an old copy).</remarks>
    public ProvisionalBeside? Beside { get; init; }

    private const int EeaYears = 3;
    private const int EeaAge = 70;

    /// <summary>A learner's licence from a day on.</summary>
    public static Licence Provisional(LocalDate from) => new(LicenceKind.Provisional, from);

    /// <summary>Whether the holder drives only with glasses or contact lenses on (code 01).</summary>
    public bool NeedsGlasses => Has(LicenceCodes.Eyesight);

    /// <summary>Whether it is a full licence for automatics only.</summary>
    public bool IsAutomaticOnly => Kind == LicenceKind.FullAutomatic || (Kind is LicenceKind.FullManual or LicenceKind.Foreign && SaysAutomaticOnly);

    /// <summary>Whether one of its codes says so.</summary>
    public bool SaysAutomaticOnly => Has(LicenceCodes.AutomaticOnly) || Has(LicenceCodes.AutomaticOnlyBefore);

    /// <summary>The last day on which somebody who lives here may drive on a foreign licence, whatever stands on it; null for any other.</summary>
    /// <param name="birthDate">The holder's date of birth; null where it is not known.</param>
    /// <remarks>The day before the anniversary is the last, the safe side.</remarks>
    public LocalDate? ForeignLastDay(LocalDate? birthDate)
    {
        if (Kind != LicenceKind.Foreign || ResidentSince is not { } resident)
        {
            return null;
        }

        if (!FromEea)
        {
            return resident.PlusMonths(ForeignMonths).PlusDays(-1);
        }

        var years = resident.PlusYears(EeaYears).PlusDays(-1);
        var age = birthDate is { } born ? LearnerAge.Attains(born, EeaAge).PlusDays(-1) : years;
        return LocalDate.Max(years, age);
    }

    /// <summary>The last day on which it allows driving as far as that is known; null where no end is.</summary>
    /// <param name="birthDate">The holder's date of birth; null where it is not known.</param>
    public LocalDate? LastDay(LocalDate? birthDate) => (ValidUntil, ForeignLastDay(birthDate)) switch
    {
        ({ } written, { } lawful) => LocalDate.Min(written, lawful),
        var (written, lawful) => written ?? lawful,
    };

    /// <summary>Whether its holder goes on as a learner the day after its last, on the provisional licence beside it.</summary>
    /// <param name="birthDate">The holder's date of birth; null where it is not known.</param>
    public bool GoesOnBeside(LocalDate? birthDate) => LastDay(birthDate) is { } last && Beside?.HoldsOn(last.PlusDays(1)) == true;

    /// <summary>What a licence allows; <see cref="LicenceStanding.NotSeen"/> where there is none.</summary>
    /// <param name="licence">The licence; null when none was seen.</param>
    /// <param name="on">The day.</param>
    /// <param name="gearbox">The gearbox of the car.</param>
    /// <param name="birthDate">The holder's date of birth; null where it is not known.</param>
    public static LicenceStanding On(Licence? licence, LocalDate on, Gearbox gearbox, LocalDate? birthDate)
    {
        var alone = Alone(licence, on, gearbox, birthDate);
        return !alone.MayDrive() && licence?.Beside?.HoldsOn(on) == true ? LicenceStanding.Learner : alone;
    }

    private static LicenceStanding Alone(Licence? licence, LocalDate on, Gearbox gearbox, LocalDate? birthDate) => licence switch
    {
        null => LicenceStanding.NotSeen,
        { Kind: LicenceKind.Disqualified } => on <= licence.DisqualifiedUntil ? LicenceStanding.Disqualified : LicenceStanding.SeenBeforeDisqualification,
        { ValidFrom: null } => LicenceStanding.NotSeen,
        _ when on < licence.ValidFrom => LicenceStanding.NotYetValid,
        _ when on > licence.ValidUntil => LicenceStanding.Ended,
        _ when on > licence.ForeignLastDay(birthDate) => LicenceStanding.ForeignEnded,
        { Kind: LicenceKind.Provisional } => LicenceStanding.Learner,
        { IsAutomaticOnly: true } when gearbox == Gearbox.Manual =>
            licence.Kind == LicenceKind.Foreign ? LicenceStanding.ForeignAutomaticOnly : LicenceStanding.Learner,
        _ => LicenceStanding.Holder,
    };

    /// <summary>Whether a practical test for a gearbox is still to be taken with it, and a theory certificate before.</summary>
    /// <remarks>Who goes from automatic to manual takes no theory test again: gov.uk/apply-emergency-theory-test (copy of 2020–21).</remarks>
    /// <param name="licence">The licence; null when none was seen.</param>
    public static bool NeedsTheory(Licence? licence) => licence?.Kind is not (LicenceKind.FullManual or LicenceKind.FullAutomatic);

    /// <summary>
    /// Whether a practical test that was passed still makes its holder a full driver: not while they are disqualified, and not where a provisional
    /// licence was given after it, since one who is disqualified, or whose licence is revoked, begins again.
    /// </summary>
    /// <remarks>Source: The Highway Code, Annexes 5 and 8; a provisional card that was renewed after a pass is read the safe way.</remarks>
    /// <param name="licence">The licence; null when none was seen.</param>
    /// <param name="passedOn">The day of the test.</param>
    public static bool PassStands(Licence? licence, LocalDate passedOn) => licence switch
    {
        { Kind: LicenceKind.Disqualified } => false,
        { Kind: LicenceKind.Provisional, ValidFrom: { } from } => from <= passedOn,
        { Beside: { } beside } => beside.ValidFrom <= passedOn,
        _ => true,
    };

    // A search asks it for every start: without an enumerator.
    private bool Has(string main)
    {
        for (var i = 0; i < Conditions?.Count; i++)
        {
            if (Conditions[i].StartsWith(main, StringComparison.Ordinal) && (Conditions[i].Length == main.Length || Conditions[i][main.Length] == '.'))
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>The same, but for the identity of the list of codes.</summary>
    public bool Equals(Licence? other) => other is not null
        && (Kind, ValidFrom, ValidUntil, ResidentSince, DisqualifiedUntil, FromEea, Beside)
            == (other.Kind, other.ValidFrom, other.ValidUntil, other.ResidentSince, other.DisqualifiedUntil, other.FromEea, other.Beside)
        && (Conditions ?? []).SequenceEqual(other.Conditions ?? [], StringComparer.Ordinal);

    /// <inheritdoc />
    public override int GetHashCode() => HashCode.Combine(Kind, ValidFrom, ValidUntil, ResidentSince, DisqualifiedUntil, FromEea, Beside);
}

/// <summary>Whether a standing allows a lesson.</summary>
public static class LicenceStandings
{
    /// <summary>Whether a lesson on the road may be given.</summary>
    public static bool MayDrive(this LicenceStanding standing) => standing is LicenceStanding.Learner or LicenceStanding.Holder;
}
