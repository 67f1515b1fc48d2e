using System.Security.Cryptography;
using Hangfire;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.People;

/// <summary>
/// Answers each wish for a new password: a letter with a link where somebody signs in by that name, one letter with a link each where several
/// have that address, nothing where nobody does. Any number of workers may run it; a wish that another holds is passed over.
/// </summary>
internal sealed class WriteResetLetters(
    SchoolDb db, UserManager<Person> people, SignInNames names, Outbox outbox, Audit audit, Attempts attempts, IClock clock, ILogger<WriteResetLetters> logger)
{
    public const string Job = "write-reset-letters";
    public const string MessageKind = SignInMessages.NewPassword;
    public const int MostPerAccount = 5;

    /// <summary>More than a large family; a letter stays one that can be read.</summary>
    public const int MostOfOneAddress = 12;

    private static readonly Refusal NoneLeft = Refusal.NotFound("wish");

    [AutomaticRetry(Attempts = 0, OnAttemptsExceeded = AttemptsExceededAction.Delete)]
    public async Task RunAsync(CancellationToken cancel)
    {
        while (!cancel.IsCancellationRequested && (await db.InTransactionAsync<PasswordWish>(NextAsync, cancel)).Ok)
        {
        }
    }

    private async Task<Outcome<PasswordWish>> NextAsync(CancellationToken cancel)
    {
        var next = await db.Set<PasswordWish>().FromSql($"SELECT * FROM people.password_wishes ORDER BY id LIMIT 1 FOR UPDATE SKIP LOCKED").ToListAsync(cancel);
        if (next is not [var wish])
        {
            return NoneLeft;
        }

        db.Remove(wish);
        if (clock.GetCurrentInstant() - wish.At < LinkTokens.ResetLifetime)
        {
            // Who has it as a name may have moved to another address since: a link goes nowhere but to the address of whom it is for.
            foreach (var behind in (await names.BehindAsync(wish.Name, cancel)).GroupBy(person => person.NormalizedEmail))
            {
                await WriteAsync([.. behind], cancel);
            }
        }

        return wish;
    }

    /// <summary>One letter to the address that all of them have; who asked too often of late is left out.</summary>
    private async Task WriteAsync(IReadOnlyList<Person> behind, CancellationToken cancel)
    {
        var links = new List<(Person Person, string Path)>();
        foreach (var person in behind)
        {
            if (!await attempts.AllowAsync("reset-account", person.Id.ToString(), MostPerAccount, CheckPassword.Window, cancel))
            {
                continue;
            }

            // Not the security stamp: asking is anybody's to do, and must sign nobody out.
            var stamp = person.ResetStamp = Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(16));
            await db.Set<Person>().Where(p => p.Id == person.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.ResetStamp, stamp), cancel);
            await outbox.WithdrawAsync(person.Id, [MessageKind], cancel);
            var token = await people.GeneratePasswordResetTokenAsync(person);
            links.Add((person, $"/people/reset?person={person.Id}&token={Uri.EscapeDataString(token)}"));
            audit.Note(Viewer.Service, "password.ask", person.Id, "Somebody asked for a new password; a link was sent.");
            SignInLog.Changed(logger, person.Id, "a link for a new password was asked for");
        }

        if (links is not [var (first, path), ..])
        {
            return;
        }

        var several = links.Count > 1;
        await outbox.WriteAsync(
            new(MessageKind, $"{MessageKind}:{RowId.New()}", first.Id, Receiver.Person(first.Id), several ? [.. links.Select(link => Fact.Of(SignInWording.Somebody, $"{link.Person.Name} ({link.Person.UserName})"))] : [])
            {
                Acts = several ? [.. links.Select((link, n) => new Act($"{SignInWording.Open}/{n}", link.Path))] : [new(SignInWording.Open, path)],
                UselessAt = clock.GetCurrentInstant() + LinkTokens.ResetLifetime,
            },
            cancel);
    }
}
