using NodaTime;
using School.Core;
using School.Core.Accounts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Accounts;

/// <summary>Hours to be sold together.</summary>
internal sealed record BlockInput
{
    [Needed, Between(Block.ShortestMinutes, Block.LongestMinutes)]
    public int? Minutes { get; init; }

    /// <summary>The price with VAT.</summary>
    [Needed, Between(0, Core.Accounts.Pence.Most)]
    public long? Pence { get; init; }

    /// <summary>The buyer expressly asks to begin within the fourteen days in which they may cancel.</summary>
    public bool AskedToBegin { get; init; }

    /// <summary>Left over from before the books were opened, and paid for then.</summary>
    public bool FromBefore { get; init; }

    /// <summary>The id that a form gave it, so that a press too many sells nothing.</summary>
    public Guid? Id { get; init; }
}

/// <summary>Sells prepaid hours to a pupil: owed at once, used from the oldest.</summary>
internal sealed class SellBlock(SchoolDb db, Ledger ledger, MoneyGround ground, Audit audit)
{
    public Task<Outcome<Block>> RunAsync(Viewer viewer, Guid pupilId, BlockInput input, CancellationToken cancel) => db.InTransactionAsync<Block>(
        async cancel =>
        {
            await ledger.LockAsync(pupilId, cancel);
            var opened = await ground.OpenAsync(viewer, pupilId, cancel);
            if (!opened.Ok)
            {
                return opened.Refusal;
            }

            // Nothing is paid for them here, so they are not for everybody to give.
            if (input.FromBefore && !viewer.May(Permission.KeepBooks))
            {
                return BookShelf.NotTheirs;
            }

            if (input.Id is { } known && await db.Set<Block>().FindAsync([known], cancel) is { } before)
            {
                return before.PupilId == pupilId ? before : Refusal.NotFound("block");
            }

            var (book, today) = opened.Value;
            var errors = new FieldErrors();
            errors.When(input.Minutes is null, nameof(input.Minutes), "Enter how many minutes of teaching are sold, such as 600 for ten hours.")
                .When(input.Minutes is < Block.ShortestMinutes or > Block.LongestMinutes, nameof(input.Minutes), $"Sell from {Block.ShortestMinutes} to {Block.LongestMinutes} minutes at once.")
                .When(input.Pence is null, nameof(input.Pence), "Enter what they cost together.")
                .When(input.Pence is < 0 or > Core.Accounts.Pence.Most, nameof(input.Pence), "Enter a price from nothing to £100,000.");
            if (errors.ToRefusal() is { } wrong)
            {
                return wrong;
            }

            var block = new Block
            {
                Id = input.Id ?? RowId.New(),
                BookId = book.Id,
                PupilId = pupilId,
                SoldOn = today,
                Minutes = input.Minutes!.Value,
                Pence = input.Pence!.Value,
                VatPerMille = input.FromBefore ? null : book.VatOn(today),
                SinglePence = book.HourOn(today),
                RefundRule = book.RefundRule,
                AskedToBegin = input.AskedToBegin,
                FromBefore = input.FromBefore,
                SoldAt = ground.Now,
            };
            db.Add(block);
            var journal = input.FromBefore
                ? Postings.OpeningBlock(pupilId, block.Id, block.Minutes, block.Net)
                : Postings.BlockSold(pupilId, block.Id, block.Minutes, block.Pence, block.VatPerMille);
            ledger.Post(book, viewer, input.FromBefore ? EntryKind.Opening : EntryKind.BlockSold, today, pupilId, journal, entry => entry.About(blockId: block.Id));
            audit.Note(viewer, "account.block", pupilId, $"{(input.FromBefore ? "Entered hours from before the books were opened" : "Sold hours")}: {ScreenWords.Length(block.Minutes)}, {ScreenWords.Money(block.Pence)}.");
            return block;
        },
        cancel);
}
