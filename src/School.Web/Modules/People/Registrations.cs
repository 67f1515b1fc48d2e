using NodaTime;
using School.Core.Diary;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.People;

/// <summary>Registrations of instructors that run out or have run out.</summary>
internal sealed class Registrations(InstructorBook instructors, SchoolInfo school, IClock clock) : INeedAttention
{
    public const string Kind = "registration";

    public async Task<IReadOnlyList<AttentionItem>> ListAsync(CancellationToken cancel)
    {
        var today = (await school.GetAsync(cancel)).Today(clock);
        return
        [
            .. from card in await instructors.ListAsync(alsoRetired: false, cancel)
               where card.Facts.RegisteredTo <= today.PlusDays(PaperDates.DaysAhead)
               let what = card.Facts.Kind is RegistrationKind.Trainee ? "trainee licence" : "registration"
               select new AttentionItem(
                   Kind, AttentionHeading.Papers, $"{card.Name}'s {what} {PaperDates.Runs(card.Facts.RegisteredTo, today)}", $"/people/instructors/{card.Id}",
                   card.Facts.RegisteredTo),
        ];
    }
}
