using System.Text.Json.Serialization;
using NodaTime;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Cars;

/// <summary>A period, both days included.</summary>
internal sealed record AllocationPeriod([property: JsonRequired] LocalDate From, [property: JsonRequired] LocalDate To);

/// <summary>Which period, and the versions of the diary that the look at it was taken from.</summary>
internal sealed record GiveOutRequest(AllocationPeriod Period, string? Seen);

/// <summary>What a page shows of a period before anything is kept, with the versions of the diary that it was read from.</summary>
internal sealed record AllocationLook(AllocationProposal Proposal, string Seen);

/// <summary>Proposes who gets which car: to look at only, kept as a proposal, or kept and carried out at once as it was looked at.</summary>
internal sealed class GiveOutCars(SchoolDb db, CarsNeeded needed, DiaryVersions versions, MakeProposal make, ApplyProposal apply, SchoolInfo school, IClock clock)
{
    public const int LongestDays = 31;

    public async Task<Outcome<AllocationLook>> LookAsync(AllocationPeriod period, CancellationToken cancel)
    {
        if (await WrongAsync(period, cancel) is { } refusal)
        {
            return refusal;
        }

        var seen = await versions.MarkAsync(DiaryPart.Between(period.From, period.To), cancel);
        return new AllocationLook(await needed.ProposeAsync(period.From, period.To, cancel), seen);
    }

    public async Task<Outcome<Proposal>> ProposeAsync(Viewer viewer, AllocationPeriod period, CancellationToken cancel) =>
        await WrongAsync(period, cancel) is { } refusal ? refusal : await make.RunAsync(viewer, new(ProposalKind.CarAllocation, period), cancel);

    /// <summary>Carries out what was looked at, provided nothing has changed since.</summary>
    public async Task<Outcome<Proposal>> RunAsync(Viewer viewer, GiveOutRequest request, CancellationToken cancel) =>
        await WrongAsync(request.Period, cancel) is { } refusal ? refusal : await db.InTransactionAsync<Proposal>(
            async cancel =>
            {
                var made = await make.AddAsync(viewer, new(ProposalKind.CarAllocation, request.Period), cancel);
                if (!made.Ok)
                {
                    return made;
                }

                var applied = made.Value.Seen == request.Seen ? await apply.ApplyAsync(viewer, made.Value.Id, new(), null, cancel) : ApplyProposal.Stale;
                return applied.Ok ? applied.Value.Proposal : applied.Refusal;
            },
            cancel);

    private async Task<Refusal?> WrongAsync(AllocationPeriod period, CancellationToken cancel)
    {
        var today = (await school.GetAsync(cancel)).Today(clock);
        return new FieldErrors()
            .When(period.From < today, nameof(period.From), "The first day has passed. Cars are given out from today on.")
            .When(period.To < period.From, nameof(period.To), "The last day must not be before the first.")
            .When(period.From > today.PlusDays(366), nameof(period.From), "That is more than a year away. Look at the year.")
            .When(period.To > period.From && Period.DaysBetween(period.From, period.To) >= LongestDays, nameof(period.To), $"Look at no more than {LongestDays} days at a time.")
            .ToRefusal();
    }
}
