using NodaTime;
using School.Core.Papers;

namespace School.Core.Pupils;

/// <summary>What was seen of a pupil's papers, and when and by whom.</summary>
/// <param name="Id">The pupil.</param>
/// <param name="BirthDate">Date of birth; null while it is still to be asked.</param>
/// <param name="Licence">The driving licence; null where none was seen.</param>
/// <param name="LicenceSeen">When the licence was entered as it stands.</param>
/// <param name="TheoryPassedOn">The day of the theory test; null where no certificate was seen.</param>
/// <param name="TheorySeen">When the certificate was seen.</param>
/// <param name="RecordSeen">When the driving record was last looked at.</param>
/// <param name="EyesightPassedOn">When the last eyesight check was passed; null after one that was failed.</param>
/// <param name="EyesightFailedOn">When one was failed since which none was passed.</param>
/// <param name="EyesightCheckedBy">Who did the last check.</param>
public sealed record PupilSightings(
    Guid Id, LocalDate? BirthDate, Licence? Licence, (LocalDate? On, Guid? By) LicenceSeen, LocalDate? TheoryPassedOn, (LocalDate? On, Guid? By) TheorySeen,
    (LocalDate? On, Guid? By) RecordSeen, LocalDate? EyesightPassedOn, LocalDate? EyesightFailedOn, Guid? EyesightCheckedBy);

/// <summary>A pupil's papers in the one shape that all papers have.</summary>
public static class PupilPaperDates
{
    private static readonly LocalDate Read = new(2026, 11, 25);

    private static readonly LocalDate HighwayCode = new(2024, 6, 20);

    private static readonly PaperSource Eyesight = new("The Highway Code, rule 92", HighwayCode);

    private static readonly PaperSource Record = new("Common practice, no source", Read);

    private static readonly PaperSource Theory = new(TheoryCertificate.Source, TheoryCertificate.SourceDate);

    /// <summary>Each that was seen; what was never seen is no paper.</summary>
    /// <param name="pupil">What was seen.</param>
    /// <param name="theoryCounts">Whether a practical test still waits for a theory certificate.</param>
    public static IReadOnlyList<Paper> Of(PupilSightings pupil, bool theoryCounts)
    {
        ArgumentNullException.ThrowIfNull(pupil);
        var papers = new List<Paper>();
        if (pupil.Licence is { } licence && OfLicence(pupil.Id, licence, pupil.BirthDate) is var seen)
        {
            papers.Add(seen with { SeenOn = pupil.LicenceSeen.On, SeenBy = pupil.LicenceSeen.By });
            if (licence.Beside is { } beside)
            {
                papers.Add(Paper(
                    PaperKind.ProvisionalLicence, beside.ValidFrom, beside.ValidUntil, licence.GoesOnBeside(pupil.BirthDate) ? PaperStops.Lesson : PaperStops.Test,
                    new(LicenceProblem.SourceOf(LicenceStanding.Ended), Read)) with
                { SeenOn = pupil.LicenceSeen.On, SeenBy = pupil.LicenceSeen.By });
            }
        }

        if (pupil.RecordSeen.On is { } looked)
        {
            papers.Add(Paper(PaperKind.DrivingRecord, looked, PupilPapers.LicenceCheckDue(looked).PlusDays(-1), PaperStops.Nothing, Record) with { SeenOn = looked, SeenBy = pupil.RecordSeen.By });
        }

        if (theoryCounts && pupil.TheoryPassedOn is { } passed)
        {
            papers.Add(Paper(PaperKind.Theory, passed, TheoryCertificate.LastDay(passed), PaperStops.Test, Theory) with { SeenOn = pupil.TheorySeen.On, SeenBy = pupil.TheorySeen.By });
        }

        if (pupil.EyesightFailedOn is { } failed)
        {
            papers.Add(Paper(PaperKind.Eyesight, null, failed.PlusDays(-1), PaperStops.Lesson, Eyesight) with { SeenOn = failed, SeenBy = pupil.EyesightCheckedBy });
        }
        else if (pupil.EyesightPassedOn is { } read)
        {
            papers.Add(Paper(PaperKind.Eyesight, read, null, PaperStops.Lesson, Eyesight) with { SeenOn = read, SeenBy = pupil.EyesightCheckedBy });
        }

        return papers;

        Paper Paper(PaperKind kind, LocalDate? from, LocalDate? until, PaperStops stops, PaperSource source) => new(PaperHolder.Pupil, pupil.Id, kind, from, until, stops, source);
    }

    private static Paper OfLicence(Guid id, Licence licence, LocalDate? birthDate)
    {
        var isVoid = licence.Kind == LicenceKind.Disqualified;
        var last = licence.LastDay(birthDate);
        var standing = isVoid ? LicenceStanding.Disqualified
            : last is not null && last == licence.ForeignLastDay(birthDate) ? LicenceStanding.ForeignEnded : LicenceStanding.Ended;
        return new(PaperHolder.Pupil, id, PaperKind.Licence, licence.ValidFrom, isVoid ? null : last, licence.GoesOnBeside(birthDate) ? PaperStops.Nothing : PaperStops.Lesson, new(LicenceProblem.SourceOf(standing), standing == LicenceStanding.Ended ? Read : HighwayCode))
        {
            IsVoid = isVoid,
            VoidUntil = isVoid ? licence.DisqualifiedUntil : null,
        };
    }
}
