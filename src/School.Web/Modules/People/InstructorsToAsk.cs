using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.People;

/// <summary>Instructors of whom a first lesson still needs something.</summary>
internal sealed class InstructorsToAsk(InstructorBook instructors, SchoolInfo school, IClock clock) : INeedAttention
{
    public const string Kind = "details_missing";

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var today = (await school.GetAsync(cancel)).Today(clock);
        return
        [
            .. from card in await instructors.ListAsync(alsoRetired: false, cancel)
               where card.StillNeeded.Count > 0
               select new AttentionItem(
                   Kind, AttentionHeading.FirstLesson, $"{card.Name}, who teaches: still needed before the first lesson: {string.Join(", ", card.StillNeeded)}.",
                   $"/people/instructors/{card.Id}#details", today) { Urgency = AttentionUrgency.Soon },
        ];
    }
}
