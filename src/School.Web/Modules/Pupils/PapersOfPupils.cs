using NodaTime;
using School.Core.Papers;
using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Pupils;

/// <summary>The papers of those who learn now.</summary>
internal sealed class PapersOfPupils(PupilBook pupils, OwnPupils sight, IPupilDiary diary, SchoolInfo school, Viewer viewer, IClock clock) : IHoldPapers, INeedAttention
{
    public const string TheoryEnds = "theory_certificate";
    public const string LicenceCheck = "licence_check";

    public const string LicenceEnds = "licence";

    public const string DisqualificationEnds = "disqualification";

    public const string OfOthers = "papers_of_others";

    private static readonly AttentionHeading Others = new(41, "Papers of pupils who belong to their instructor", "Look who teaches them");

    private static readonly AttentionHeading Heading = new(40, "Pupils’ licences, theory certificates and licence checks", "Enter the new date");

    /// <summary>Papers are for who teaches them: no reason opens those of others.</summary>
    public async Task<IReadOnlyList<HeldPaper>> ListAsync(LocalDate today, CancellationToken cancel) => await OfAsync(own: true, today, cancel);

    /// <summary>Of the papers of others no more than that somebody should ask.</summary>
    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var today = (await school.GetAsync(cancel)).Today(clock);
        return
        [
            .. from held in await OfAsync(own: false, today, cancel)
               where held.Heed is not null
               group held by held.Paper.HolderId into papers
               let pupil = papers.First()
               select new AttentionItem(OfOthers, Others, $"{pupil.Name}: their papers are to be looked at. Ask who teaches them.", OwnPupils.PageOf(papers.Key), today),
        ];
    }

    private async Task<IReadOnlyList<HeldPaper>> OfAsync(bool own, LocalDate today, CancellationToken cancel)
    {
        var all = await pupils.LearningRowsAsync(cancel);
        var sees = await sight.OfAsync(viewer, [.. all.Select(pupil => pupil.Id)], cancel);
        var learning = all.Where(pupil => sees.GetValueOrDefault(pupil.Id) == Sight.Everything == own).ToList();
        // A theory certificate is for the test to come, and who passed waits for none.
        var waiting = learning.Where(pupil => pupil.TheoryPassedOn is not null || pupil.LicenceCheckedOn is not null).Select(pupil => pupil.Id).ToList();
        var passed = waiting.Count == 0 ? new HashSet<Guid>() : await diary.PassedAsync(waiting, cancel);
        return
        [
            .. from pupil in learning
               from paper in PupilPaperDates.Of(Sightings(pupil), Licence.NeedsTheory(pupil.SeenLicence()) && !passed.Contains(pupil.Id))
               select Of(pupil, paper, passed.Contains(pupil.Id), today),
        ];
    }

    private static HeldPaper Of(Pupil pupil, Paper paper, bool passed, LocalDate today)
    {
        var page = $"/pupils/{pupil.Id}";
        return new(paper, pupil.Name, page, paper.Kind switch
        {
            PaperKind.Theory => $"{page}/papers#TheoryPassedOn_Day",
            PaperKind.DrivingRecord => $"{page}/papers#LicenceCheckedOn_Day",
            PaperKind.Eyesight => $"{page}/teaching",
            PaperKind.ProvisionalLicence => $"{page}/papers#Licence_Provisional_ValidUntil_Day",
            PaperKind.Licence => $"{page}/papers#Licence_ValidUntil_Day",
            PaperKind.Registration or PaperKind.TraineeLicence or PaperKind.Mot or PaperKind.Tax or PaperKind.Insurance or PaperKind.Service => throw NotAPupils(paper),
        })
        {
            Heed = paper.Kind switch
            {
                PaperKind.Licence => OfLicence(pupil, paper, today),
                PaperKind.ProvisionalLicence => OfProvisional(pupil, paper, today),
                PaperKind.Theory => passed ? null : OfTheory(pupil, paper, today),
                PaperKind.DrivingRecord => passed ? null : OfRecord(pupil, paper, today),
                PaperKind.Eyesight => null,
                PaperKind.Registration or PaperKind.TraineeLicence or PaperKind.Mot or PaperKind.Tax or PaperKind.Insurance or PaperKind.Service => throw NotAPupils(paper),
            },
        };
    }

    private static AttentionItem? OfLicence(Pupil pupil, Paper paper, LocalDate today) =>
        pupil.SeenLicence()!.GoesOnBeside(pupil.BirthDate) && paper.Until is { } counts
            ? counts >= today && paper.StateOn(today) == PaperState.EndsSoon
                ? new(
                    LicenceEnds, Heading,
                    $"{pupil.Name}: the foreign licence counts until {PaperDates.Of(counts)}; after that lessons go on as a learner’s, on the British provisional licence.",
                    $"/pupils/{pupil.Id}/papers", counts)
                : null
            : paper is { IsVoid: true, VoidUntil: { } over } && over <= today.PlusDays(Paper.SoonDays)
            ? new(
                DisqualificationEnds, Heading,
                over < today
                    ? $"{pupil.Name}: the disqualification ended on {PaperDates.Of(over)}. Lessons can be booked again once the new licence is seen."
                    : $"{pupil.Name}: the disqualification ends on {PaperDates.Of(over)}. From the day after lessons can be booked again, once the new licence is seen.",
                $"/pupils/{pupil.Id}/papers", over)
            : paper is { IsVoid: false, Until: { } last } && paper.StateOn(today) is PaperState.EndsSoon or PaperState.Ended
            ? new(
                LicenceEnds, Heading,
                pupil.SeenLicence()!.ForeignLastDay(pupil.BirthDate) == last
                    ? last < today
                    ? $"{pupil.Name}: who lives here could drive on this foreign licence until {PaperDates.Of(last)}. A British one is needed, and no lesson is booked without."
                    : $"{pupil.Name}: who lives here may drive on this foreign licence until {PaperDates.Of(last)}; after that a British one is needed, and no lesson is booked without."
                    : last < today
                    ? $"{pupil.Name}: the driving licence ended on {PaperDates.Of(last)}. No lessons can be booked until a new one is seen."
                    : $"{pupil.Name}: the driving licence ends on {PaperDates.Of(last)}. No lessons can be booked for a later day until a new one is seen.",
                $"/pupils/{pupil.Id}/papers", last)
            : null;

    /// <summary>One that goes on after a foreign licence ends nothing before that has ended; one that does not matters for a test alone.</summary>
    private static AttentionItem? OfProvisional(Pupil pupil, Paper paper, LocalDate today) =>
        paper.Until is { } last && paper.StateOn(today) is PaperState.EndsSoon or PaperState.Ended
            ? new(
                LicenceEnds, Heading,
                $"{pupil.Name}: the British provisional licence {(last < today ? "ended" : "ends")} on {PaperDates.Of(last)}. "
                    + (paper.Stops == PaperStops.Test ? "A test is taken on one: look at a new one before." : "No lessons can be booked for a later day until a new one is seen."),
                $"/pupils/{pupil.Id}/papers", last)
            : null;

    private static InvalidOperationException NotAPupils(Paper paper) => new($"No pupil has a {paper.Kind}.");

    private static AttentionItem? OfTheory(Pupil pupil, Paper paper, LocalDate today) =>
        paper.Until is { } last && paper.StateOn(today) == PaperState.EndsSoon
            ? new(
                TheoryEnds, Heading, $"{pupil.Name}: the theory certificate counts until {PaperDates.Of(last)}. Without a test passed by then, theory is taken again.",
                $"/pupils/{pupil.Id}/papers", last)
            : null;

    private static AttentionItem? OfRecord(Pupil pupil, Paper paper, LocalDate today) =>
        paper is { From: { } seen, Until: { } last } && paper.StateOn(today) == PaperState.LookAgain
            ? new(LicenceCheck, Heading, $"{pupil.Name}: look at the driving record again; the last time was {PaperDates.Of(seen)}.", $"/pupils/{pupil.Id}/papers", last.PlusDays(1))
            : null;

    private static PupilSightings Sightings(Pupil pupil) => new(
        pupil.Id, pupil.BirthDate, pupil.SeenLicence(), (pupil.LicenceSeenOn, pupil.LicenceSeenBy), pupil.TheoryPassedOn, (pupil.TheorySeenOn, pupil.TheorySeenBy),
        (pupil.LicenceCheckedOn, pupil.LicenceCheckedBy), pupil.EyesightCheckedOn, pupil.EyesightFailedOn, pupil.EyesightCheckedBy);
}
