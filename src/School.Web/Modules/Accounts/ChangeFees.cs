using NodaTime;
using School.Core;
using School.Core.Accounts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Accounts;

/// <summary>What is asked for lessons that do not take place, as a form or the API sends it.</summary>
internal sealed record FeeInput
{
    /// <summary>For what happens from this day on; today where it is left out.</summary>
    public LocalDate? From { get; init; }

    [Between(0, 100)]
    public int LatePercent { get; init; }

    [Between(0, 100)]
    public int LateMovePercent { get; init; }

    [Between(0, 100)]
    public int MissedPercent { get; init; }

    [Between(0, FeePolicy.MostFree)]
    public int FreeAYear { get; init; }

    public bool NeedsReminder { get; init; } = true;

    public static FeeInput Of(FeePolicy policy) => new()
    {
        LatePercent = policy.LatePercent,
        LateMovePercent = policy.LateMovePercent,
        MissedPercent = policy.MissedPercent,
        FreeAYear = policy.FreeAYear,
        NeedsReminder = policy.NeedsReminder,
    };

    public static void Check(FieldErrors errors, int late, int lateMove, int missed, int free)
    {
        const string Part = "Enter a part of the price from 0 to 100 percent.";
        errors.When(late is < 0 or > 100, nameof(LatePercent), Part).When(lateMove is < 0 or > 100, nameof(LateMovePercent), Part)
            .When(missed is < 0 or > 100, nameof(MissedPercent), Part)
            .When(free is < 0 or > FeePolicy.MostFree, nameof(FreeAYear), $"Let pass from 0 to {FeePolicy.MostFree} in a year.");
    }
}

/// <summary>Sets what is asked for lessons that do not take place, from a day on.</summary>
internal sealed class ChangeFees(SchoolDb db, BookShelf shelf, SchoolInfo school, Audit audit, IClock clock)
{
    public Task<Outcome<FeeRow>> RunAsync(Viewer viewer, FeeInput input, CancellationToken cancel) => db.InTransactionAsync<FeeRow>(
        async cancel =>
        {
            if (await shelf.FindAsync(cancel) is not { } book)
            {
                return BookShelf.NotOpen;
            }

            var today = (await school.GetAsync(cancel)).Today(clock);
            var errors = new FieldErrors();
            errors.When(input.From < today, nameof(input.From), "This holds from today on or later: what happened is charged by what held then.")
                .When(input.From > today.PlusYears(2), nameof(input.From), "This is more than two years ahead. Check the year.");
            FeeInput.Check(errors, input.LatePercent, input.LateMovePercent, input.MissedPercent, input.FreeAYear);
            if (errors.ToRefusal() is { } wrong)
            {
                return wrong;
            }

            var row = new FeeRow
            {
                BookId = book.Id,
                From = input.From ?? today,
                LatePercent = input.LatePercent,
                LateMovePercent = input.LateMovePercent,
                MissedPercent = input.MissedPercent,
                FreeAYear = input.FreeAYear,
                NeedsReminder = input.NeedsReminder,
                AddedAt = clock.GetCurrentInstant(),
            };
            audit.Note(
                viewer, "fees.change", row.Id,
                $"From {row.From:uuuu-MM-dd} on: late {row.LatePercent} %, late move {row.LateMovePercent} %, missed {row.MissedPercent} %, {row.FreeAYear} a year let pass, {(row.NeedsReminder ? "only after a reminder" : "with or without a reminder")}.");
            return db.Add(row).Entity;
        },
        cancel);
}
