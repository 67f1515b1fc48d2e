using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Pupils;

/// <summary>Pupils of whom a first lesson still needs something, or whose place is still to be found.</summary>
internal sealed class PupilsToAsk(PupilBook pupils, OwnPupils own, IPupilDiary diary, SchoolInfo school, Viewer viewer, IClock clock) : INeedAttention
{
    public const string PlaceToFind = "place_to_find";

    private const int DaysNear = 2;

    private static readonly AttentionHeading Places = new(35, "Places to be found", "Say where it is");

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        var today = facts.Today(clock);
        var learning = await pupils.LearningRowsAsync(cancel);
        var open = await OpenAsync(learning, cancel);
        var asked = learning.Where(pupil => MissingOf(pupil) != FirstLessonNeeds.None).ToList();
        var next = await diary.NextAsync([.. asked.Where(pupil => pupil.BeforeDriving() != FirstLessonNeeds.None).Select(pupil => pupil.Id)], cancel);
        return
        [
            .. from pupil in asked
               let booked = next.TryGetValue(pupil.Id, out var start) ? start : (Instant?)null
               orderby booked ?? Instant.MaxValue
               select OfFirst(pupil, booked, open.Contains(pupil.Id), facts, today),
            .. from pupil in learning
               where pupil.PickUp is { IsKnown: true, IsFound: false }
               select new AttentionItem(
                   PlaceToFind, Places, !open.Contains(pupil.Id) ? $"{pupil.Name}: where they are picked up is still to be found. Lessons are reckoned from the middle of a postcode district, and no drive is told."
                       : $"{pupil.Name}: where {pupil.PickUp.Label} is, is still to be found. Lessons are reckoned from the middle of {pupil.PickUp.Postcode.Split(' ')[0]}, and no drive is told.",
                   $"/pupils/{pupil.Id}/change", today)
               {
                   Urgency = AttentionUrgency.Soon,
               },
        ];
    }

    private static FirstLessonNeeds MissingOf(Pupil pupil) => pupil.Missing() | pupil.BeforeDriving();

    /// <summary>The nearer a lesson that stands already, the sooner somebody should look.</summary>
    private static AttentionItem OfFirst(Pupil pupil, Instant? booked, bool open, SchoolFacts school, LocalDate today)
    {
        var missing = MissingOf(pupil);
        var day = booked?.InZone(school.Zone).Date;
        var words = (booked, open) switch
        {
            ({ } start, true) => $"{pupil.Name}, lesson on {Moment(school, start)}. Before driving: {pupil.BeforeDriving().SeenFirst()!.ToStaff}.",
            ({ } start, false) => $"{pupil.Name}, lesson on {Moment(school, start)}: something is still to be seen before driving. Ask who teaches them.",
            (null, true) => $"{pupil.Name}: still needed before the first lesson: {string.Join(", ", missing.Each())}.",
            (null, false) => $"{pupil.Name}: something is still needed before the first lesson. Ask who teaches them.",
        };
        return new(FirstLessonNeedsWords.Code, AttentionHeading.FirstLesson, words, open ? new StillNeeded(pupil.Id, missing).Page : OwnPupils.PageOf(pupil.Id), day ?? today)
        {
            Urgency = day is not { } on ? AttentionUrgency.Soon : on <= today ? AttentionUrgency.Now : on <= today.PlusDays(DaysNear) ? AttentionUrgency.Today : AttentionUrgency.Soon,
        };
    }

    /// <summary>“Tuesday 10 March, 10:00”.</summary>
    internal static string Moment(SchoolFacts school, Instant moment)
    {
        var local = moment.InZone(school.Zone);
        return $"{ScreenWords.Day(local.Date)}, {ScreenWords.Time(local.TimeOfDay, school.TwelveHourClock)}";
    }

    /// <summary>Those of whom the viewer sees everything.</summary>
    private async Task<HashSet<Guid>> OpenAsync(List<Pupil> learning, CancellationToken cancel)
    {
        var some = learning.Where(pupil => pupil.Missing() != FirstLessonNeeds.None || pupil.SeenLicence() is null || !pupil.PickUp.IsFound).Select(pupil => pupil.Id).ToList();
        return [.. (await own.OfAsync(viewer, some, cancel)).Where(sees => sees.Value == Sight.Everything).Select(sees => sees.Key)];
    }
}
