using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>What a pupil was told to pay.</summary>
internal sealed record DueTold(long Pence);

/// <summary>Writes a pupil what is to be paid by transfer, with the reference; the same amount once a day, however often it is asked for.</summary>
internal sealed class TellDue(SchoolDb db, Ledger ledger, MoneyGround ground, AccountLetters letters, Audit audit)
{
    public Task<Outcome<DueTold>> RunAsync(Viewer viewer, Guid pupilId, CancellationToken cancel) => db.InTransactionAsync<DueTold>(
        async cancel =>
        {
            await ledger.LockAsync(pupilId, cancel);
            var opened = await ground.OpenAsync(viewer, pupilId, cancel);
            if (!opened.Ok)
            {
                return opened.Refusal;
            }

            var owed = await ledger.OwedAsync(pupilId, cancel);
            if (owed <= 0)
            {
                return Refusal.Rule("nothing_due", "Nothing is to be paid. The pupil was not written to.");
            }

            if (await letters.DueAsync(pupilId, owed, opened.Value.Today, cancel))
            {
                audit.Note(viewer, "account.due", pupilId, $"Wrote that {ScreenWords.Money(owed)} is to be paid by transfer.");
            }

            return new DueTold(owed);
        },
        cancel);
}
