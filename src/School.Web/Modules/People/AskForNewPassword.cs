using Microsoft.AspNetCore.Identity;
using NodaTime;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.People;

/// <summary>Sends a link for a new password. Whoever asks learns nothing about which addresses are known here.</summary>
internal sealed class AskForNewPassword(SchoolDb db, UserManager<Person> people, Outbox outbox, SchoolInfo school, PublicUrl url, Attempts attempts, IClock clock)
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
            var link = url.Of($"/people/reset?person={person.Id}&token={Uri.EscapeDataString(token)}");
            var mail = SignInMails.NewPassword(person, await school.GetAsync(cancel), link);
            outbox.Write(new($"{MessageKind}:{RowId.New()}", person.Id, MessageKind, person.Name, person.Email!, mail.Subject, mail.Text, mail.Html)
            {
                ToPersonId = person.Id,
                UselessAt = clock.GetCurrentInstant() + LinkTokens.ResetLifetime,
            });
            await db.SaveChangesAsync(cancel);
        }

        return null;
    }
}
