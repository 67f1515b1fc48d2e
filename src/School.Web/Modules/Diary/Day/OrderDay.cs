using School.Web.Modules.Diary.Proposals;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Day;

/// <summary>Whether the pupils to be asked have agreed.</summary>
internal sealed record OrderDayRequest(OrderQuestion Question, bool Asked);

/// <summary>Moves the lessons of a day into the better order that was shown, provided it is still the answer: makes the proposal and carries it out at once.</summary>
internal sealed class OrderDay(SchoolDb db, FindOrder find, MakeProposal make, ApplyProposal apply)
{
    public static readonly Refusal NothingBetter = Refusal.Rule("nothing_better", "No other order of these lessons means less driving. The day stays as it is.");

    /// <param name="viewer">Who does it.</param>
    /// <param name="request">Which day.</param>
    /// <param name="expected">Version of the answer that was looked at; null for whatever there is.</param>
    /// <param name="cancel">Stops.</param>
    public async Task<Outcome<OrderAnswer>> RunAsync(Viewer viewer, OrderDayRequest request, int? expected, CancellationToken cancel) =>
        await db.InTransactionAsync<OrderAnswer>(
            async cancel =>
            {
                var answer = await find.RunAsync(viewer, request.Question, cancel);
                if (!answer.Ok)
                {
                    return answer;
                }

                if (answer.Value.Version != (expected ?? answer.Value.Version))
                {
                    return Refusal.Stale;
                }

                var made = await make.AddAsync(viewer, new(ProposalKind.BetterOrder, request.Question), cancel);
                if (!made.Ok)
                {
                    return made.Refusal;
                }

                // Somebody may have changed the day between the two looks at it: then it is not what was shown.
                var shown = (answer.Value.Better?.Moves ?? []).Select(move => (move.Entry.Id, move.To.Start));
                if (expected is not null && !made.Value.LinesOf().Select(line => (line.Id, line.Start!.Value)).ToHashSet().SetEquals(shown))
                {
                    return Refusal.Stale;
                }

                var applied = await apply.ApplyAsync(viewer, made.Value.Id, new(Asked: request.Asked), null, cancel);
                return applied.Ok ? answer : applied.Refusal.Code == ApplyProposal.Stale.Code ? Refusal.Stale : applied.Refusal;
            },
            cancel);
}
