using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Layout;

namespace School.Web.Modules.People;

/// <summary>Whether letters reach somebody, said no better than it is known.</summary>
internal sealed class LettersArrive(SchoolDb db, MailWay mail, MessageQueries messages, SchoolInfo school)
{
    public async Task<(bool Done, string Sentence)> ForAsync(Viewer viewer, CancellationToken cancel)
    {
        if (!mail.Leaves)
        {
            return (false, $"There is no mail server: each letter becomes a file in {mail.Folder} on the machine of the service and reaches nobody. Until whoever runs it sets Mail__Host and Mail__From, open letters under Messages and pass their links on yourself.");
        }

        var person = await db.Set<Person>().AsNoTracking().Where(p => p.Id == viewer.PersonId).Select(p => new { p.Email, p.ReachedAt, p.ReachedBy }).SingleAsync(cancel);
        var facts = await school.GetAsync(cancel);
        string At(NodaTime.Instant moment) => $"{ScreenWords.DayAndYear(moment.InZone(facts.Zone).Date)}, {ScreenWords.Time(moment.InZone(facts.Zone).TimeOfDay, facts.TwelveHourClock)}";
        if (person.ReachedAt is { } reached && person.ReachedBy == mail.Server)
        {
            return (true, $"A letter by {mail.Server} reached {person.Email} on {At(reached)}.");
        }

        return (false, await messages.LastAsync(AskReached.MessageKind, viewer.PersonId, cancel) switch
        {
            null => $"Letters go by {mail.Server}. Whether they arrive is not known yet: send one to {person.Email}, and follow its link.",
            { Problem.Length: > 0 } last => $"The letter to {person.Email} has not gone: {last.Problem}",
            { SentAt: { } sent } => $"{mail.Server} took a letter to {person.Email} on {At(sent)}; its link has not been followed yet. Not there? Look among the unwanted mail, then send another.",
            _ => $"A letter to {person.Email} is written and waits for the next minute. Follow its link when it is there.",
        });
    }
}

/// <summary>A letter that really arrived, and somebody who teaches.</summary>
internal sealed class PeopleSteps(LettersArrive arrive, InstructorBook instructors, MailWay mail, Viewer viewer) : IFirstSteps
{
    public async Task<IReadOnlyList<FirstStep>> ListAsync(string address, CancellationToken cancel)
    {
        var (arrives, how) = await arrive.ForAsync(viewer, cancel);
        return
        [
            new("mail", 20, arrives, "A letter that arrives", how, arrives || !mail.Leaves ? "" : "Send me a letter", "/people/account/letters") { CanWait = true, Posts = true },
            Teaches(await instructors.ListAsync(alsoRetired: false, cancel)),
        ];
    }

    private static FirstStep Teaches(IReadOnlyList<InstructorCard> all)
    {
        const string Title = "Somebody who teaches";
        return all.FirstOrDefault(one => one.StillNeeded.Count == 0) is { } ready
                ? new("instructor", 40, true, Title, all.Count == 1 ? $"{ready.Name} teaches." : $"{ready.Name} and others teach.", "", "/people/instructors")
            : all is [var first, ..]
                ? new("instructor", 40, false, Title, $"{first.Name}: still needed before a first lesson: {string.Join(", ", first.StillNeeded)}.", "Enter it", $"/people/instructors/{first.Id}#details")
            : new("instructor", 40, false, Title, "Nobody teaches here yet. If you do, say so under who you are; else add whoever does.", "Add an instructor", "/people/instructors/new");
    }
}
