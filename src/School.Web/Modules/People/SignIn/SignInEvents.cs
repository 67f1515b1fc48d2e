using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.People.SignIn;

/// <summary>
/// Writes down what was refused (OWASP ASVS 5.0 V16.3.1 to V16.3.3): a log line each time, and a line of the audit that names the account.
/// Ids only; never what was typed.
/// </summary>
internal sealed class SignInEvents(SchoolDb db, Audit audit, Attempts attempts, IClock clock, ILogger<SignInEvents> logger)
{
    private const int MostLines = 10;

    /// <param name="person">Whose account; null where the name is nobody's.</param>
    /// <param name="what">"password" or "code".</param>
    /// <param name="cancel">Stops the writing.</param>
    public Task WrongAsync(Guid? person, string what, CancellationToken cancel)
    {
        SignInLog.Wrong(logger, what, person);
        return TryAsync(person, what, locked: false, cancel);
    }

    public Task LockedAsync(Guid? person, string what, CancellationToken cancel)
    {
        SignInLog.Locked(logger, what, person);
        return TryAsync(person, what, locked: true, cancel);
    }

    public Task WrongPresentPasswordAsync(Viewer viewer, CancellationToken cancel)
    {
        SignInLog.WrongPresentPassword(logger, viewer.PersonId);
        return NoteAsync(viewer, "password.wrong", "Gave a wrong present password for a change of the sign-in.", cancel);
    }

    public Task RefusedAsync(Viewer viewer, string permission, string route, CancellationToken cancel)
    {
        SignInLog.Refused(logger, viewer.PersonId, permission, route);
        return NoteAsync(viewer, "permission.refused", $"Tried what their sign-in does not allow: {permission}.", cancel);
    }

    private async Task NoteAsync(Viewer viewer, string what, string words, CancellationToken cancel)
    {
        if (await attempts.AllowAsync($"line {what}", viewer.PersonId.ToString(), MostLines, CheckPassword.Window, cancel))
        {
            await db.InTransactionAsync<Viewer>(
                _ =>
                {
                    audit.Note(viewer, what, viewer.PersonId, words);
                    return Task.FromResult<Outcome<Viewer>>(viewer);
                },
                cancel);
        }
    }

    /// <summary>One statement, the same for every name, so that its time tells nothing; a job looks whose it was.</summary>
    private Task<int> TryAsync(Guid? person, string what, bool locked, CancellationToken cancel)
    {
        var (id, now) = (RowId.New(), clock.GetCurrentInstant());
        return db.AloneAsync(
            () => db.Database.ExecuteSqlAsync(
                $"INSERT INTO people.wrong_tries (id, person_id, what, locked, at) VALUES ({id}, {person}, {what}, {locked}, {now})", cancel),
            cancel);
    }
}

/// <summary>Log lines about signing in: ids only.</summary>
internal static partial class SignInLog
{
    [LoggerMessage(EventId = 4101, Level = LogLevel.Information, Message = "Person {Person} signed in with {How}: session {Session}")]
    public static partial void Opened(ILogger logger, Guid person, string how, Guid session);

    [LoggerMessage(EventId = 4102, Level = LogLevel.Information, Message = "Person {Person} signed out: session {Session}")]
    public static partial void Ended(ILogger logger, Guid person, Guid session);

    [LoggerMessage(EventId = 4103, Level = LogLevel.Information, Message = "Person {Person} signed out everywhere")]
    public static partial void EndedAll(ILogger logger, Guid person);

    [LoggerMessage(EventId = 4104, Level = LogLevel.Information, Message = "Person {Person}: {What}")]
    public static partial void Changed(ILogger logger, Guid person, string what);

    public static void Wrong(ILogger logger, string what, Guid? person)
    {
        if (person is { } id)
        {
            WrongFor(logger, what, id);
        }
        else
        {
            WrongForNobody(logger, what);
        }
    }

    [LoggerMessage(EventId = 4111, Level = LogLevel.Warning, Message = "A wrong {What} for person {Person}")]
    public static partial void WrongFor(ILogger logger, string what, Guid person);

    [LoggerMessage(EventId = 4112, Level = LogLevel.Warning, Message = "A {What} for a name that nobody has")]
    public static partial void WrongForNobody(ILogger logger, string what);

    [LoggerMessage(EventId = 4113, Level = LogLevel.Warning, Message = "Too many tries with a wrong {What}, locked for a while: person {Person}")]
    public static partial void Locked(ILogger logger, string what, Guid? person);

    [LoggerMessage(EventId = 4114, Level = LogLevel.Warning, Message = "A wrong present password given by person {Person}")]
    public static partial void WrongPresentPassword(ILogger logger, Guid person);

    [LoggerMessage(EventId = 4115, Level = LogLevel.Warning, Message = "Person {Person} was refused {Permission} at {Route}")]
    public static partial void Refused(ILogger logger, Guid person, string permission, string route);
}
