using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.People;

/// <summary>Sends somebody a letter, to find out whether letters of the school reach them: only its link tells.</summary>
internal sealed class AskReached(SchoolDb db, UserManager<Person> people, Outbox outbox, MailWay mail, Attempts attempts, Audit audit, IClock clock)
{
    public const string MessageKind = SignInMessages.Reached;
    public const int Most = 5;
    private static readonly Duration Window = Duration.FromMinutes(15);

    public async Task<Outcome<Person>> RunAsync(Viewer viewer, CancellationToken cancel)
    {
        if (!await attempts.AllowAsync("reached", viewer.PersonId.ToString(), Most, Window, cancel))
        {
            return new Refusal(RefusalKind.TooMany, "too_many_letters", $"That is the {Most}th letter within a quarter of an hour. Wait a little, and look among the unwanted mail.") { RetryAfter = attempts.LeftOf(Window) };
        }

        return await db.InTransactionAsync<Person>(
            async cancel =>
            {
                var person = await db.Set<Person>().SingleAsync(p => p.Id == viewer.PersonId, cancel);
                var token = await people.GenerateUserTokenAsync(person, LinkTokens.Provider, LinkTokens.Reached + mail.Server);
                await outbox.WithdrawAsync(person.Id, [MessageKind], cancel);
                await outbox.WriteAsync(
                    new(MessageKind, $"{MessageKind}:{RowId.New()}", person.Id, Receiver.Person(person.Id), [])
                    {
                        Acts = [new(ReachedWording.Open, $"/people/reached?person={person.Id}&token={Uri.EscapeDataString(token)}")],
                        UselessAt = clock.GetCurrentInstant() + LinkTokens.InvitationLifetime,
                    },
                    cancel);
                audit.Note(viewer, "person.ask-reached", person.Id, "Asked for a letter, to see whether letters arrive.");
                return person;
            },
            cancel);
    }
}

/// <summary>Notes that the link of such a letter came back.</summary>
internal sealed class NoteReached(SchoolDb db, UserManager<Person> people, MailWay mail, Audit audit, IClock clock)
{
    public static readonly Refusal TooOld = Refusal.Rule("letter_over", "This link is older than seven days, or the mail server or your password has changed since. Ask for another letter.");

    /// <summary>Whose letter it was; null where the link is no longer good.</summary>
    public Task<Person?> WhomAsync(Guid id, string? token, CancellationToken cancel) => WhomAsync(db.Set<Person>().AsNoTracking(), id, token, cancel);

    public Task<Outcome<Person>> RunAsync(Guid id, string? token, CancellationToken cancel) => db.InTransactionAsync<Person>(
        async cancel =>
        {
            if (await WhomAsync(db.Set<Person>(), id, token, cancel) is not { } person)
            {
                return TooOld;
            }

            (person.ReachedAt, person.ReachedBy) = (clock.GetCurrentInstant(), mail.Server);
            audit.Note(Proven.Of(person).Viewer, "person.reached", person.Id, "Followed the link of the letter that was to see whether letters arrive.");
            return person;
        },
        cancel);

    private async Task<Person?> WhomAsync(IQueryable<Person> rows, Guid id, string? token, CancellationToken cancel) =>
        token is not null
        && await rows.SingleOrDefaultAsync(p => p.Id == id && !p.Closed, cancel) is { } person
        && await people.VerifyUserTokenAsync(person, LinkTokens.Provider, LinkTokens.Reached + mail.Server, token)
            ? person
            : null;
}

/// <summary>The words of that letter.</summary>
internal sealed class ReachedWording : ILetterWording
{
    public const string Open = "reached";

    public IReadOnlyCollection<string> Kinds { get; } = [AskReached.MessageKind];

    public LetterWords Of(LetterReading letter) => new(
        $"Do letters of {letter.School.Name} reach you?", "This letter was sent to find out whether letters arrive. Follow the link to say that this one has.", [],
        ["The link works for seven days. If you did not ask for this letter, do nothing."],
        letter.Links(act => act == Open ? "It has arrived" : null));
}
