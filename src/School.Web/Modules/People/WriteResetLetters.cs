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
/// Answers each wish for a new password: a letter with a link where somebody signs in by that name, nothing where nobody does. Any number
/// of workers may run it; a wish that another holds is passed over.
/// </summary>
internal sealed class WriteResetLetters(
    SchoolDb db, UserManager<Person> people, Outbox outbox, Audit audit, Attempts attempts, IClock clock, ILogger<WriteResetLetters> logger)
{
    public const string Job = "write-reset-letters";
    public const string MessageKind = SignInMessages.NewPassword;
    public const int MostPerAccount = 5;

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
        var normal = people.NormalizeEmail(wish.Name);
        if (clock.GetCurrentInstant() - wish.At < LinkTokens.ResetLifetime
            && await db.Set<Person>().AsNoTracking().SingleOrDefaultAsync(p => p.NormalizedEmail == normal && !p.Closed, cancel) is { } person
            && await attempts.AllowAsync("reset-account", person.Id.ToString(), MostPerAccount, CheckPassword.Window, cancel))
        {
            await WriteAsync(person, cancel);
        }

        return wish;
    }

    private async Task WriteAsync(Person person, CancellationToken cancel)
    {
        // Not the security stamp: asking is anybody's to do, and must sign nobody out.
        var stamp = person.ResetStamp = Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(16));
        await db.Set<Person>().Where(p => p.Id == person.Id).ExecuteUpdateAsync(set => set.SetProperty(p => p.ResetStamp, stamp), cancel);
        await outbox.WithdrawAsync(person.Id, [MessageKind], cancel);
        var token = await people.GeneratePasswordResetTokenAsync(person);
        await outbox.WriteAsync(
            new(MessageKind, $"{MessageKind}:{RowId.New()}", person.Id, Receiver.Person(person.Id), [])
            {
                Acts = [new(SignInWording.Open, $"/people/reset?person={person.Id}&token={Uri.EscapeDataString(token)}")],
                UselessAt = clock.GetCurrentInstant() + LinkTokens.ResetLifetime,
            },
            cancel);
        audit.Note(Viewer.Service, "password.ask", person.Id, "Somebody asked for a new password; a link was sent.");
        SignInLog.Changed(logger, person.Id, "a link for a new password was asked for");
    }
}
