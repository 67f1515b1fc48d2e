using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;

namespace School.Web.Modules.Pupils;

/// <summary>Pupils of whom a first lesson still needs something, or whose place is still to be found.</summary>
internal sealed class PupilsToAsk(PupilBook pupils, OwnPupils own, SchoolInfo school, Viewer viewer, IClock clock) : INeedAttention
{
    public const string PlaceToFind = "place_to_find";

    private static readonly AttentionHeading Places = new(35, "Places to be found", "Say where it is");

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var today = (await school.GetAsync(cancel)).Today(clock);
        var learning = await pupils.LearningRowsAsync(cancel);
        var open = await OpenAsync(learning, cancel);
        return
        [
            .. from pupil in learning
               let missing = pupil.Missing() is var told && told == FirstLessonNeeds.None && pupil.SeenLicence() is null ? FirstLessonNeeds.Licence : told
               where missing != FirstLessonNeeds.None
               select new AttentionItem(
                   FirstLessonNeedsWords.Code, AttentionHeading.FirstLesson, open.Contains(pupil.Id) ? $"{pupil.Name}: still needed before the first lesson: {string.Join(", ", missing.Each())}."
                       : $"{pupil.Name}: something is still needed before the first lesson. Ask who teaches them.",
                   open.Contains(pupil.Id) ? new StillNeeded(pupil.Id, missing).Page : OwnPupils.PageOf(pupil.Id), today)
               {
                   Urgency = AttentionUrgency.Soon,
               },
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

    /// <summary>Those of whom the viewer sees everything.</summary>
    private async Task<HashSet<Guid>> OpenAsync(List<Pupil> learning, CancellationToken cancel)
    {
        var some = learning.Where(pupil => pupil.Missing() != FirstLessonNeeds.None || pupil.SeenLicence() is null || !pupil.PickUp.IsFound).Select(pupil => pupil.Id).ToList();
        return [.. (await own.OfAsync(viewer, some, cancel)).Where(sees => sees.Value == Sight.Everything).Select(sees => sees.Key)];
    }
}
