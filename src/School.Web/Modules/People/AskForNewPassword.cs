using Microsoft.AspNetCore.Identity;
using NodaTime;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Platform;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.People;

/// <summary>Sends a link for a new password. Whoever asks learns nothing about which addresses are known here.</summary>
internal sealed class AskForNewPassword(SchoolDb db, UserManager<Person> people, Outbox outbox, Attempts attempts, IClock clock)
{
    public const string MessageKind = SignInMessages.NewPassword;
    public const int MostPerAccount = 5;
    public const int MostPerAddress = 20;

    public async Task<Refusal?> RunAsync(string email, string address, CancellationToken cancel)
    {
        if (!await attempts.AllowAsync("reset-address", address, MostPerAddress, CheckPassword.Window, cancel))
        {
            return CheckPassword.TooMany;
        }

        var within = await attempts.AllowAsync("reset-account", email, MostPerAccount, CheckPassword.Window, cancel);
        if (within && await people.FindByEmailAsync(email) is { Closed: false } person)
        {
            var token = await people.GeneratePasswordResetTokenAsync(person);
            await outbox.WriteAsync(
                new(MessageKind, $"{MessageKind}:{RowId.New()}", person.Id, Receiver.Person(person.Id), [])
                {
                    Acts = [new(SignInWording.Open, $"/people/reset?person={person.Id}&token={Uri.EscapeDataString(token)}")],
                    UselessAt = clock.GetCurrentInstant() + LinkTokens.ResetLifetime,
                },
                cancel);
            await db.SaveChangesAsync(cancel);
        }

        return null;
    }
}
