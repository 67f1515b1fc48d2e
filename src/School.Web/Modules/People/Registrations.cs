using NodaTime;
using School.Core.Diary;
using School.Core.Papers;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Layout;

namespace School.Web.Modules.People;

/// <summary>What the instructors teach on: registrations and trainee licences.</summary>
internal sealed class Registrations(InstructorBook instructors) : IHoldPapers
{
    public const string Kind = "registration";

    public async Task<IReadOnlyList<HeldPaper>> ListAsync(LocalDate today, CancellationToken cancel) =>
        [.. from card in await instructors.ListAsync(alsoRetired: false, cancel) let paper = InstructorPaperDates.Of(card.Facts) where paper is not null select Of(card, paper, today)];

    private static HeldPaper Of(InstructorCard card, Paper paper, LocalDate today)
    {
        var page = $"/people/instructors/{card.Id}";
        return new(paper with { SeenOn = card.RegistrationSeen.On, SeenBy = card.RegistrationSeen.By }, card.Name, page, $"{page}#Input_RegisteredTo")
        {
            Heed = paper.StateOn(today) is PaperState.EndsSoon or PaperState.Ended
                ? new(
                    Kind, AttentionHeading.Papers,
                    paper.Kind == PaperKind.TraineeLicence
                        ? $"{card.Name}'s trainee licence {OfTrainee(card.Facts, today)}"
                        : $"{card.Name}'s registration {PaperDates.Runs(card.Facts.RegisteredTo, today)}",
                    page, card.Facts.RegisteredTo)
                : null,
        };
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
