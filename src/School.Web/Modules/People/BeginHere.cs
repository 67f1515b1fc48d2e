using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Security;

namespace School.Web.Modules.People;

/// <summary>What the first person says of themselves, with the code that the service printed.</summary>
internal sealed record FirstWish(string? Code, string? Name, string? Email, string? Password);

/// <summary>The first person of the school signs in by the code and looks after everything; whoever was invited meanwhile by that address is the same person.</summary>
internal sealed class BeginHere(
    SchoolDb db, UserManager<Person> people, FirstCode code, Outbox outbox, Attempts attempts, Audit audit, ILogger<BeginHere> logger)
{
    public const int MostTries = 10;
    private static readonly Duration Window = Duration.FromMinutes(15);

    public static readonly Refusal Over = Refusal.Rule("first_sign_in_over", "Somebody signs in here already, and invites everybody else. Sign in, or ask them.");

    public async Task<Outcome<Proven>> RunAsync(SignInCaller caller, FirstWish wish, CancellationToken cancel)
    {
        if (!await attempts.AllowAsync("first-code", caller.Network, MostTries, Window, cancel))
        {
            return TooManyTries.For(attempts.LeftOf(Window));
        }

        var begun = await db.InTransactionAsync<Proven>(
            async cancel =>
            {
                // Of two who press at once the second finds the first.
                await db.LockAsync([SignInNames.Lock], cancel);
                if (!await code.IsOpenAsync(cancel))
                {
                    return Over;
                }

                var errors = new FieldErrors();
                errors.When(!code.Is(wish.Code), nameof(wish.Code), "That is not the code. The service prints it each time it starts, as long as nobody signs in.");
                var name = errors.ReadLine(nameof(wish.Name), wish.Name, InvitePerson.LongestName, "Enter your name.");
                var email = errors.ReadEmail(nameof(wish.Email), wish.Email);
                var form = people.NormalizeEmail(email);
                var known = await db.Set<Person>().OrderBy(p => p.Id).FirstOrDefaultAsync(p => p.NormalizedEmail == form && p.Parts != OfficeParts.None, cancel);
                var person = known ?? new Person { Id = RowId.New(), Name = name };
                (person.Name, person.Email, person.UserName, person.Parts, person.Closed) = (name, email, email, OfficeParts.All, false);
                foreach (var validator in people.PasswordValidators)
                {
                    if ((await validator.ValidateAsync(people, person, wish.Password ?? "")).ToRefusal(nameof(wish.Password)) is { } weak)
                    {
                        errors.AddAll(weak);
                    }
                }

                if (errors.ToRefusal() is { } refusal)
                {
                    return refusal;
                }

                var made = known is null ? await people.CreateAsync(person, wish.Password!) : await people.AddPasswordAsync(person, wish.Password!);
                if (made.ToRefusal(nameof(wish.Email)) is { } clash)
                {
                    return clash;
                }

                await outbox.WithdrawAsync(person.Id, [SignInMessages.Invitation], cancel);
                var who = Proven.Of(person);
                audit.Note(who.Viewer, "person.begin", person.Id, "Began with the code that the service printed, to look after everything.");
                return who;
            },
            cancel);
        if (begun.Ok)
        {
            SignInLog.Changed(logger, begun.Value.Viewer.PersonId, "the first sign-in");
        }

        return begun;
    }
}
