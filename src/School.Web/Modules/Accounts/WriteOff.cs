using School.Core;
using School.Core.Accounts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>A debt that is given up.</summary>
internal sealed record WriteOffInput
{
    [Needed, Between(1, Core.Accounts.Pence.Most)]
    public long? Pence { get; init; }

    [Needed, AtMost(Entry.LongestReason)]
    public string? Reason { get; init; }
}

/// <summary>Gives up what a pupil owes, with a reason.</summary>
internal sealed class WriteOff(SchoolDb db, Ledger ledger, MoneyGround ground, Audit audit)
{
    public Task<Outcome<Entry>> RunAsync(Viewer viewer, Guid pupilId, WriteOffInput input, CancellationToken cancel) => db.InTransactionAsync<Entry>(
        async cancel =>
        {
            await ledger.LockAsync(pupilId, cancel);
            var opened = await ground.OpenAsync(viewer, pupilId, cancel);
            if (!opened.Ok)
            {
                return opened.Refusal;
            }

            var owed = await ledger.OwedAsync(pupilId, cancel);
            var errors = new FieldErrors();
            var reason = errors.ReadLine(nameof(input.Reason), input.Reason, Entry.LongestReason, "Say why, for whoever looks at the books.");
            errors.When(input.Pence is null or < 1, nameof(input.Pence), "Enter how much is given up.")
                .When(input.Pence > Math.Max(0, owed), nameof(input.Pence), $"No more than {ScreenWords.Money(Math.Max(0, owed))} is owed.");
            if (errors.ToRefusal() is { } wrong)
            {
                return wrong;
            }

            var (book, today) = opened.Value;
            audit.Note(viewer, "account.write-off", pupilId, $"Gave up {ScreenWords.Money(input.Pence!.Value)} that was owed.");
            return ledger.Post(
                book, viewer, EntryKind.WrittenOff, today, pupilId, Postings.WrittenOff(pupilId, input.Pence.Value), entry => entry.About(reason: reason))!;
        },
        cancel);
}
