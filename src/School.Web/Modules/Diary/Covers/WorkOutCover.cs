using Hangfire;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Cover;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Covers;

/// <summary>The job that works out cover which takes longer than a page should. It tells how far it has come and ends when it is
/// stopped, by whichever node, or when its time is over.</summary>
internal sealed class WorkOutCover(SchoolDb db, CoverReader reader, CoverLimits limits)
{
    public const string Job = "work-out-covers";

    private static readonly TimeSpan Pause = TimeSpan.FromSeconds(0.5);

    /// <summary>Works out all that wait, oldest first, on one node at a time. One whose node died waits still, and is begun again.</summary>
    [DisableConcurrentExecution(timeoutInSeconds: 1)]
    [AutomaticRetry(Attempts = 0, OnAttemptsExceeded = AttemptsExceededAction.Delete)]
    public async Task RunDueAsync(CancellationToken cancel)
    {
        var due = await db.Set<CoverPlan>().Where(c => c.State == CoverState.Working).OrderBy(c => c.AskedAt).Select(c => c.Id).ToListAsync(cancel);
        foreach (var planId in due)
        {
            await RunAsync(planId, cancel);
        }
    }

    public async Task RunAsync(Guid planId, CancellationToken cancel)
    {
        if (await db.Set<CoverPlan>().AsNoTracking().SingleOrDefaultAsync(c => c.Id == planId, cancel) is not { State: CoverState.Working } plan)
        {
            return;
        }

        var reading = await reader.ReadAsync(plan, cancel);
        var answer = reading is null ? new([], default, default) : await ProposeAsync(plan.Id, reading, cancel);
        await db.InTransactionAsync<CoverPlan>(
            async cancel =>
            {
                await db.LockAsync([PlanCover.LockOf(planId)], cancel);
                var row = await db.Set<CoverPlan>().SingleAsync(c => c.Id == planId, cancel);
                if (row.State is CoverState.Working)
                {
                    row.Propose(answer, reading?.Seen ?? "");
                }

                return row;
            },
            cancel);
    }

    private async Task<CoverAnswer> ProposeAsync(Guid planId, CoverReading reading, CancellationToken cancel)
    {
        using var enough = CancellationTokenSource.CreateLinkedTokenSource(cancel);
        enough.CancelAfter(TimeSpan.FromSeconds(limits.MostSeconds));
        var progress = new Latest();
        var work = Task.Run(() => CoverSearch.Propose(reading.Problem, reading.Loaded.Travel, progress, enough.Token), CancellationToken.None);
        while (await Task.WhenAny(work, Task.Delay(Pause, CancellationToken.None)) != work)
        {
            var (done, of) = (progress.Value.Done, progress.Value.Of);
            var going = await db.AloneAsync(
                () => db.Set<CoverPlan>().Where(c => c.Id == planId && c.State == CoverState.Working)
                    .ExecuteUpdateAsync(row => row.SetProperty(c => c.Done, done).SetProperty(c => c.Of, of), cancel),
                cancel);
            if (going == 0)
            {
                await enough.CancelAsync();
            }
        }

        return CoverAnswer.Of(await work);
    }

    private sealed class Latest : IProgress<CoverProgress>
    {
        private long both;

        public CoverProgress Value => new((int)(Volatile.Read(ref both) >> 32), (int)Volatile.Read(ref both));

        public void Report(CoverProgress value) => Volatile.Write(ref both, ((long)value.Done << 32) | (uint)value.Of);
    }
}
