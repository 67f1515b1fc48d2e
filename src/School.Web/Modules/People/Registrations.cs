using NodaTime;
using School.Core.Diary;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.People;

/// <summary>Registrations of instructors that run out or have run out.</summary>
internal sealed class Registrations(InstructorBook instructors, SchoolInfo school, IClock clock) : INeedAttention
{
    public const string Kind = "registration";

    public const string Needed = "details_missing";

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var today = (await school.GetAsync(cancel)).Today(clock);
        var all = await instructors.ListAsync(alsoRetired: false, cancel);
        return
        [
            .. from card in all
               where card.StillNeeded.Count > 0
               select new AttentionItem(
                   Needed, AttentionHeading.FirstLesson, $"{card.Name}, who teaches: still needed before the first lesson: {string.Join(", ", card.StillNeeded)}.",
                   $"/people/instructors/{card.Id}#details", today),
            .. from card in all
               where card.Facts.RegisteredTo != InstructorFacts.NotAsked && card.Facts.RegisteredTo <= today.PlusDays(PaperDates.DaysAhead)
               select new AttentionItem(
                   Kind, AttentionHeading.Papers,
                   card.Facts.Kind is RegistrationKind.Trainee
                       ? $"{card.Name}'s trainee licence {OfTrainee(card.Facts, today)}"
                       : $"{card.Name}'s registration {PaperDates.Runs(card.Facts.RegisteredTo, today)}", $"/people/instructors/{card.Id}",
                   card.Facts.RegisteredTo),
        ];
    }

    // Nobody has a right to another licence, and it is no renewal: Road Traffic Act 1988 section 129(3) and (6).
    private static string OfTrainee(InstructorFacts facts, LocalDate today)
    {
        var day = ScreenWords.DayAndYear(facts.RegisteredTo);
        return facts.GoesOn
            ? $"was to end on {day}; another was applied for on {ScreenWords.DayAndYear(facts.AppliedAgainOn!.Value)}, so it goes on until that is decided. Enter the new licence, or take the application out once it is refused."
            : facts.RegisteredTo < today
            ? $"ended on {day}: no paid lessons any more."
            : $"ends on {day}. There is no renewal: another may be applied for by that day, and this one then goes on until it is decided; else no paid lessons after it.";
    }
}
