using Hangfire;
using Microsoft.EntityFrameworkCore;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Security;

namespace School.Web.Modules.People.SignIn;

/// <summary>
/// Makes lines of the audit of refused tries, so many for an account in a window that a flood of tries does not bury the rest. Any number
/// of workers may run it; what another holds is passed over.
/// </summary>
internal sealed class NoteWrongTries(SchoolDb db, Audit audit, Attempts attempts)
{
    public const string Job = "note-wrong-tries";
    private const int AtOnce = 200;
    private const int MostLines = 10;
    private static readonly Refusal NoneLeft = Refusal.NotFound("try");

    [AutomaticRetry(Attempts = 0, OnAttemptsExceeded = AttemptsExceededAction.Delete)]
    public async Task RunAsync(CancellationToken cancel)
    {
        while (!cancel.IsCancellationRequested && (await db.InTransactionAsync<List<WrongTry>>(SomeAsync, cancel)).Ok)
        {
        }
    }

    private async Task<Outcome<List<WrongTry>>> SomeAsync(CancellationToken cancel)
    {
        var tries = await db.Set<WrongTry>().FromSql($"SELECT * FROM people.wrong_tries ORDER BY id LIMIT {AtOnce} FOR UPDATE SKIP LOCKED").ToListAsync(cancel);
        if (tries.Count == 0)
        {
            return NoneLeft;
        }

        db.RemoveRange(tries);
        foreach (var one in tries)
        {
            var (what, most) = one.Locked ? ("sign-in.locked", 1) : ("sign-in.wrong", MostLines);
            if (one.PersonId is { } person && await attempts.AllowAsync($"line {what}", person.ToString(), most, CheckPassword.Window, cancel))
            {
                audit.Note(Viewer.Nobody, what, person, one.Locked
                    ? $"Tried to sign in too often with a wrong {one.What} and has to wait."
                    : $"Tried to sign in with a wrong {one.What}.");
            }
        }

        return tries;
    }
}
