using Microsoft.EntityFrameworkCore;
using School.Core;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Accounts;

/// <summary>Why a fee is let pass.</summary>
internal sealed record WaiveInput
{
    [Needed, AtMost(DecidedFee.LongestReason)]
    public string? Reason { get; init; }
}

/// <summary>Lets a fee pass that was asked for: the entry is undone, and prepaid hours that it took come back.</summary>
internal sealed class WaiveFee(SchoolDb db, Ledger ledger, MoneyGround ground, Audit audit)
{
    public Task<Outcome<DecidedFee>> RunAsync(Viewer viewer, Guid pupilId, Guid feeId, WaiveInput input, int? expected, CancellationToken cancel) => db.InTransactionAsync<DecidedFee>(
        async cancel =>
        {
            await ledger.LockAsync(pupilId, cancel);
            var opened = await ground.OpenAsync(viewer, pupilId, cancel);
            if (!opened.Ok)
            {
                return opened.Refusal;
            }

            var taken = await db.Set<DecidedFee>().Where(f => f.PupilId == pupilId).TakeAsync(feeId, expected, "fee", cancel);
            if (!taken.Ok)
            {
                return taken.Refusal;
            }

            var errors = new FieldErrors();
            var reason = errors.ReadLine(nameof(input.Reason), input.Reason, DecidedFee.LongestReason, "Say why, for whoever looks at the books.");
            if (errors.ToRefusal() is { } wrong)
            {
                return wrong;
            }

            var fee = taken.Value;
            if (fee.EntryId is not { } id || fee.WaivedAt is not null || fee.TakenBack)
            {
                return Refusal.Rule("fee_not_standing", "Nothing is asked for this any more.");
            }

            var entry = await db.Set<Entry>().AsNoTracking().Include(e => e.Lines).SingleAsync(e => e.Id == id, cancel);
            var turn = await db.Set<Entry>().CountAsync(e => e.LessonId == fee.LessonId, cancel);
            var (book, today) = opened.Value;
            ledger.Post(book, viewer, EntryKind.Reversal, today, pupilId, entry.Journal()!.Reversed(), made => entry.Undone(made, turn + 1, reason));
            (fee.WaivedAt, fee.WaivedBecause) = (ground.Now, reason);
            audit.Note(viewer, "account.waive", pupilId, "Let a fee pass.");
            return fee;
        },
        cancel);
}
