using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Pupils;

/// <summary>Licences and theory certificates about to end, driving records to look at again and pick-up places that are still to be found; a test that comes too late is with the test days.</summary>
internal sealed class PapersToRenew(PupilBook pupils, IPupilDiary diary, SchoolInfo school, IClock clock) : INeedAttention
{
    public const string TheoryEnds = "theory_certificate";
    public const string LicenceCheck = "licence_check";

    public const string LicenceEnds = "licence";

    public const string PlaceToFind = "place_to_find";

    private static readonly AttentionHeading Places = new(35, "Places to be found", "Say where it is");

    private static readonly AttentionHeading Heading = new(40, "Pupils’ licences, theory certificates and licence checks", "Enter the new date");

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var today = (await school.GetAsync(cancel)).Today(clock);
        var learning = await pupils.ListAsync(Viewer.Service, cancel);
        var open = learning.Where(pupil => pupil.PickUp is { IsKnown: true, IsFound: false }).Select(pupil => new AttentionItem(
            PlaceToFind, Places, $"{pupil.Name}: where {pupil.PickUp.Label} is, is still to be found. Lessons are reckoned from the middle of {pupil.PickUp.Postcode.Split(' ')[0]}, and no drive is told.",
            $"/pupils/{pupil.Id}/change", today));
        var found = learning.Select(pupil => (pupil.Id, Papers: Papers(pupil, today).ToList())).Where(one => one.Papers.Count > 0).ToList();
        var passed = await diary.PassedAsync([.. found.Select(one => one.Id)], cancel);
        var needed = learning.Where(pupil => pupil.Missing != FirstLessonNeeds.None).Select(pupil => new AttentionItem(
            FirstLessonNeedsWords.Code, AttentionHeading.FirstLesson, $"{pupil.Name}: still needed before the first lesson: {string.Join(", ", pupil.Missing.Each())}.",
            new StillNeeded(pupil.Id, pupil.Missing).Page, today));
        return [.. needed, .. open, .. learning.SelectMany(pupil => Licences(pupil, today)), .. found.Where(one => !passed.Contains(one.Id)).SelectMany(one => one.Papers)];
    }

    private static IEnumerable<AttentionItem> Licences(PupilCard pupil, LocalDate today)
    {
        if (pupil.Licence?.LastDay(pupil.BirthDate) is { } last && last <= today.PlusDays(PaperDates.DaysAhead))
        {
            yield return new(
                LicenceEnds, Heading,
                pupil.Licence.ForeignLastDay(pupil.BirthDate) == last
                    ? $"{pupil.Name}: who lives here may drive on this foreign licence until {PaperDates.Of(last)}; after that a British one is needed, and no lesson is booked without."
                    : last < today
                    ? $"{pupil.Name}: the driving licence ended on {PaperDates.Of(last)}. No lessons can be booked until a new one is seen."
                    : $"{pupil.Name}: the driving licence ends on {PaperDates.Of(last)}. No lessons can be booked for a later day until a new one is seen.",
                $"/pupils/{pupil.Id}/papers", last);
        }
    }

    private static IEnumerable<AttentionItem> Papers(PupilCard pupil, LocalDate today)
    {
        var href = $"/pupils/{pupil.Id}/papers";
        if (pupil.TheoryPassedOn is { } passedOn && TheoryCertificate.LastDay(passedOn) is var last && last >= today && last <= today.PlusDays(PaperDates.DaysAhead))
        {
            yield return new(
                TheoryEnds, Heading, $"{pupil.Name}: the theory certificate counts until {PaperDates.Of(last)}. Without a test passed by then, theory is taken again.",
                href, last);
        }

        if (pupil.LicenceCheckedOn is { } seen && PupilPapers.LicenceCheckDue(seen) is var due && due <= today)
        {
            yield return new(LicenceCheck, Heading, $"{pupil.Name}: look at the driving record again; the last time was {PaperDates.Of(seen)}.", href, due);
        }
    }
}
