using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Core.Cars;
using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>
/// Whether a pupil may have a lesson on the road on a date, and what stands in the way (<c>items</c>); then the whole list of papers:
/// what blocks a lesson, what comes before one, what blocks a test and what will lapse.
/// </summary>
internal sealed record EligibilityView(
    Guid PupilId, LocalDate On, bool MayDrive, LocalDate? EarliestLesson, IReadOnlyList<BlockView> Items, bool MayTakeTest, LocalDate? TheoryPassedOn,
    LocalDate? TheoryEndsOn, LocalDate? LicenceCheckedOn, LocalDate? LicenceCheckDueOn, LocalDate? TestOn, IReadOnlyList<PaperView> Papers,
    DrivesAs? DrivesAs, IReadOnlyList<string> StillNeeded);

/// <summary>On what ground somebody drives a car of the gearbox they learn in.</summary>
internal enum DrivesAs
{
    /// <summary>With plates and somebody beside who may supervise.</summary>
    Learner,

    /// <summary>Alone, without plates, on motorways too.</summary>
    Holder,
}

/// <summary>Something that stands between the pupil and a lesson, worded for who asked.</summary>
internal sealed record BlockView(string Code, string Sentence, bool Stops, string Source, LocalDate SourceDate)
{
    public static BlockView Of(EligibilityBlock block, Reader reader) => new(block.Code, block.Telling.For(reader), block.Stops, block.Source, block.SourceDate);
}

/// <summary>One line about the papers, worded for who asked.</summary>
internal sealed record PaperView(string Code, PaperMatter Matter, string Sentence, LocalDate? On, string Source, LocalDate SourceDate)
{
    public static PaperView Of(PaperItem item, Reader reader) => new(item.Code, item.Matter, item.Telling.For(reader), item.On, item.Source, item.SourceDate);
}

internal static class EligibilityEndpoint
{
    public static void MapEligibility(this IEndpointRouteBuilder app) =>
        app.MapApi("pupils").MapGet("{id:guid}/eligibility", GetAsync).Needs(Permission.OwnDetails).OfPupil(Sight.Everything).WithName("GetEligibility")
            .WithSummary("Whether the pupil may have a lesson and take a test by the law and the school, today or ?on=, what will lapse and when, with the source of each rule.")
            .Produces<EligibilityView>().ProducesProblem(400).ProducesProblem(404);

    public static LearnerFacts LearnerFacts(this Pupil pupil) => new(
        pupil.BirthDate, pupil.SeenLicence(), pupil.EyesightCheckedOn, pupil.MobilityAward, pupil.RetiredOn, pupil.Gearbox ?? Gearbox.Manual, pupil.EyesightFailedOn, pupil.Missing());

    /// <summary>The first day on which the pupil is old enough; null while the date of birth is still to be asked.</summary>
    public static LocalDate? EarliestLesson(this Pupil pupil) => pupil.BirthDate is { } born ? LearnerAge.EarliestLesson(born, pupil.MobilityAward) : null;

    /// <summary>What is still needed before the first lesson, by the names of the members that hold it.</summary>
    public static IReadOnlyList<string> StillNeeded(this Pupil pupil) =>
    [
        .. pupil.BirthDate is null ? ["birthDate"] : Array.Empty<string>(), .. pupil.Gearbox is null ? ["gearbox"] : Array.Empty<string>(),
        .. pupil.PickUp.IsKnown ? Array.Empty<string>() : ["pickUp"], .. pupil.SeenLicence() is null ? ["licence"] : Array.Empty<string>(),
        .. pupil.EyesightCheckedOn is null ? ["eyesightCheckedOn"] : Array.Empty<string>(),
    ];

    /// <summary>On what ground the pupil drives on a day; null where they may not.</summary>
    public static DrivesAs? DrivesAs(this PaperFacts facts, LocalDate on) =>
        facts.Learner.StandingOn(on) switch
        {
            LicenceStanding.Holder => Pupils.DrivesAs.Holder,
            LicenceStanding.Learner => facts.HoldsFull ? Pupils.DrivesAs.Holder : Pupils.DrivesAs.Learner,
            _ => null,
        };

    private static async Task<IResult> GetAsync(Guid id, QueryDate? on, SchoolDb db, Viewer viewer, SchoolInfo school, PapersReader papers, IClock clock, CancellationToken cancel)
    {
        var pupil = await db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(p => p.Id == id, cancel);
        if (pupil is null)
        {
            return Refusal.NotFound("pupil").ToProblem();
        }

        var facts = await school.GetAsync(cancel);
        var date = on?.In(facts.Zone) ?? facts.Today(clock);
        var items = Eligibility.Of(pupil.LearnerFacts(), date, facts.Today(clock));
        var of = await papers.FactsAsync(pupil, date, cancel);
        var list = PupilPapers.Of(of, date, facts.Today(clock));
        return Results.Ok(new EligibilityView(
            id, date, items.All(i => !i.Stops), pupil.EarliestLesson(), [.. items.Select(item => BlockView.Of(item, viewer.Reader))],
            list.All(i => i.Matter is not (PaperMatter.BlocksLesson or PaperMatter.BlocksTest)), pupil.TheoryPassedOn,
            pupil.TheoryPassedOn is { } passed ? TheoryCertificate.LastDay(passed) : null, pupil.LicenceCheckedOn,
            pupil.LicenceCheckedOn is { } seen ? PupilPapers.LicenceCheckDue(seen) : null, of.TestOn,
            [.. list.Select(item => PaperView.Of(item, viewer.Reader))],
            of.DrivesAs(date), pupil.StillNeeded()));
    }
}
