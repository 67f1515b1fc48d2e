using Microsoft.EntityFrameworkCore;
using School.Core;
using School.Core.Accounts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>The amount that was told before; must still be true.</summary>
internal sealed record GiveBackInput
{
    [Needed, Between(0, Core.Accounts.Pence.Most)]
    public long? Pence { get; init; }
}

/// <summary>Gives back what is left of a block, by the fourteen days and then by its terms: as money that the school owes the pupil.</summary>
internal sealed class GiveBackBlock(SchoolDb db, Ledger ledger, MoneyGround ground, Audit audit)
{
    public Task<Outcome<Block>> RunAsync(Viewer viewer, Guid pupilId, Guid blockId, GiveBackInput input, CancellationToken cancel) => db.InTransactionAsync<Block>(
        async cancel =>
        {
            await ledger.LockAsync(pupilId, cancel);
            var opened = await ground.OpenAsync(viewer, pupilId, cancel);
            if (!opened.Ok)
            {
                return opened.Refusal;
            }

            var (row, left) = (await ledger.BlocksAsync(pupilId, cancel)).FirstOrDefault(block => block.Row.Id == blockId);
            if (row is null)
            {
                return Refusal.NotFound("block");
            }

            if (left.MinutesLeft == 0)
            {
                return Refusal.Rule("block_used_up", "Nothing is left of these hours.");
            }

            var (book, today) = opened.Value;
            var refund = row.Refund(left.MinutesUsed, today);
            if (input.Pence is null)
            {
                return Refusal.Invalid(nameof(input.Pence), "Send the amount that was told.");
            }

            if (input.Pence != refund.Pence)
            {
                return Refusal.Rule("refund_changed", $"By now {ScreenWords.Money(refund.Pence)} would be given back. Look again, and press again if that is right.");
            }

            ledger.Post(book, viewer, EntryKind.BlockGivenBack, today, pupilId, Postings.BlockGivenBack(pupilId, left, refund.Pence, row.VatPerMille), entry => entry.About(blockId: blockId));
            audit.Note(viewer, "account.give-back", pupilId, $"Gave back {ScreenWords.Length(left.MinutesLeft)} of prepaid hours: {ScreenWords.Money(refund.Pence)}.");
            return row;
        },
        cancel);
}
