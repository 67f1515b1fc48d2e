using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.People.Account;

internal sealed record RecoveryCodes(IReadOnlyList<string> Codes)
{
    public const int Number = 10;
}

/// <summary>Begins to set up the second step: a new key, shown on this browser for a while because the password was given again on it.</summary>
internal sealed class StartSecondStep(SchoolDb db, UserManager<Person> people, CheckPresentPassword check, Sessions sessions)
{
    public static readonly Duration KeyShown = Duration.FromMinutes(10);

    public async Task<Outcome<Viewer>> RunAsync(Viewer viewer, string? present, CancellationToken cancel)
    {
        if (await check.RunAsync(viewer, present, cancel) is { } refusal)
        {
            return refusal;
        }

        return await db.InTransactionAsync<Viewer>(
            async cancel =>
            {
                var person = await db.Set<Person>().SingleAsync(p => p.Id == viewer.PersonId, cancel);
                if (person.TwoFactorEnabled)
                {
                    return viewer;
                }

                if ((await people.ResetAuthenticatorKeyAsync(person)).ToRefusal("Present") is { } clash)
                {
                    return clash;
                }

                await sessions.KeepAsync(viewer, person, cancel);
                await sessions.NoteProofAsync(viewer, cancel);
                return viewer;
            },
            cancel);
    }
}

/// <summary>Turns the second step on for whoever began it on this browser and shows a code of the new key.</summary>
internal sealed class TurnOnSecondStep(
    SchoolDb db, UserManager<Person> people, Sessions sessions, Attempts attempts, SignInEvents events, Audit audit, ILogger<TurnOnSecondStep> logger)
{
    private const string What = "second-step-set-up";

    private static readonly Refusal Again = Refusal.Rule("password_again", "You began more than ten minutes ago, or on another browser. Give your password again and start anew.");
    // Recovery codes there are none yet.
    private static readonly Refusal Wrong = Refusal.Invalid("Code", "That code is not right. Wait until the authenticator shows the next one, and type that.");

    public async Task<Outcome<RecoveryCodes>> RunAsync(Viewer viewer, string? code, CancellationToken cancel)
    {
        if (!await attempts.AllowAsync(What, viewer.PersonId.ToString(), CheckPassword.MostPerAccount, CheckPassword.Window, cancel))
        {
            await events.LockedAsync(viewer.PersonId, "code", cancel);
            return TooManyTries.For(attempts.LeftOf(CheckPassword.Window));
        }

        var on = await db.InTransactionAsync<RecoveryCodes>(
            async cancel =>
            {
                var person = await db.Set<Person>().SingleAsync(p => p.Id == viewer.PersonId, cancel);
                if (person.TwoFactorEnabled || !await sessions.ProvedAsync(viewer, StartSecondStep.KeyShown, cancel))
                {
                    return Again;
                }

                var typed = (code ?? "").Replace(" ", "", StringComparison.Ordinal);
                if (typed.Length != Totp.Digits || !await people.VerifyTwoFactorTokenAsync(person, TokenOptions.DefaultAuthenticatorProvider, typed))
                {
                    return Wrong;
                }

                if ((await people.SetTwoFactorEnabledAsync(person, true)).ToRefusal("Code") is { } clash)
                {
                    return clash;
                }

                var codes = await people.GenerateNewTwoFactorRecoveryCodesAsync(person, RecoveryCodes.Number) ?? [];
                await sessions.KeepAsync(viewer, person, cancel);
                audit.Note(viewer, "second-step.on", viewer.PersonId, "Turned two-step sign-in on.");
                return new RecoveryCodes([.. codes]);
            },
            cancel);
        if (on.Ok)
        {
            SignInLog.Changed(logger, viewer.PersonId, "second step on");
            await attempts.GiveBackAsync(What, viewer.PersonId.ToString(), CheckPassword.Window, cancel);
        }

        return on;
    }
}

/// <summary>Makes new recovery codes for whoever knows the password; those of before open nothing more.</summary>
internal sealed class MakeRecoveryCodes(SchoolDb db, UserManager<Person> people, CheckPresentPassword check, Audit audit, ILogger<MakeRecoveryCodes> logger)
{
    public async Task<Outcome<RecoveryCodes>> RunAsync(Viewer viewer, string? present, CancellationToken cancel)
    {
        if (await check.RunAsync(viewer, present, cancel) is { } refusal)
        {
            return refusal;
        }

        var made = await db.InTransactionAsync<RecoveryCodes>(
            async cancel =>
            {
                var person = await db.Set<Person>().SingleAsync(p => p.Id == viewer.PersonId, cancel);
                if (!person.TwoFactorEnabled)
                {
                    return Refusal.Rule("second_step_off", "Two-step sign-in is off. Set it up first.");
                }

                var codes = await people.GenerateNewTwoFactorRecoveryCodesAsync(person, RecoveryCodes.Number) ?? [];
                audit.Note(viewer, "second-step.codes", viewer.PersonId, "Made new recovery codes.");
                return new RecoveryCodes([.. codes]);
            },
            cancel);
        if (made.Ok)
        {
            SignInLog.Changed(logger, viewer.PersonId, "new recovery codes");
        }

        return made;
    }
}

/// <summary>Turns the second step off for whoever knows the password, where the school does not require it.</summary>
internal sealed class TurnOffSecondStep(
    SchoolDb db, UserManager<Person> people, CheckPresentPassword check, StaffSecondStep staff, Sessions sessions, Audit audit, ILogger<TurnOffSecondStep> logger)
{
    public async Task<Outcome<Viewer>> RunAsync(Viewer viewer, string? present, CancellationToken cancel)
    {
        if (staff.IsRequiredFor(viewer.IsStaff))
        {
            return Refusal.Rule("second_step_required", "Staff of this school use two-step sign-in.");
        }

        if (await check.RunAsync(viewer, present, cancel) is { } refusal)
        {
            return refusal;
        }

        var off = await db.InTransactionAsync<Viewer>(
            async cancel =>
            {
                var person = await db.Set<Person>().SingleAsync(p => p.Id == viewer.PersonId, cancel);
                var done = await people.SetTwoFactorEnabledAsync(person, false);
                done = done.Succeeded ? await people.ResetAuthenticatorKeyAsync(person) : done;
                if (done.ToRefusal("Present") is { } clash)
                {
                    return clash;
                }

                await sessions.KeepAsync(viewer, person, cancel);
                audit.Note(viewer, "second-step.off", viewer.PersonId, "Turned two-step sign-in off.");
                return viewer;
            },
            cancel);
        if (off.Ok)
        {
            SignInLog.Changed(logger, viewer.PersonId, "second step off");
        }

        return off;
    }
}
