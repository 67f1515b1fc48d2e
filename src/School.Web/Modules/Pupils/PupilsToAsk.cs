using NodaTime;
using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Pupils;

/// <summary>Pupils of whom a first lesson still needs something, or whose place is still to be found.</summary>
internal sealed class PupilsToAsk(PupilBook pupils, SchoolInfo school, IClock clock) : INeedAttention
{
    public const string PlaceToFind = "place_to_find";

    private static readonly AttentionHeading Places = new(35, "Places to be found", "Say where it is");

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var today = (await school.GetAsync(cancel)).Today(clock);
        var learning = await pupils.LearningRowsAsync(cancel);
        return
        [
            .. from pupil in learning
               let missing = pupil.Missing() is var told && told == FirstLessonNeeds.None && pupil.SeenLicence() is null ? FirstLessonNeeds.Licence : told
               where missing != FirstLessonNeeds.None
               select new AttentionItem(
                   FirstLessonNeedsWords.Code, AttentionHeading.FirstLesson, $"{pupil.Name}: still needed before the first lesson: {string.Join(", ", missing.Each())}.",
                   new StillNeeded(pupil.Id, missing).Page, today),
            .. from pupil in learning
               where pupil.PickUp is { IsKnown: true, IsFound: false }
               select new AttentionItem(
                   PlaceToFind, Places, $"{pupil.Name}: where {pupil.PickUp.Label} is, is still to be found. Lessons are reckoned from the middle of {pupil.PickUp.Postcode.Split(' ')[0]}, and no drive is told.",
                   $"/pupils/{pupil.Id}/change", today),
        ];
    }
}
