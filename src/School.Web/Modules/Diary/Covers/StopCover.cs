using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Covers;

/// <summary>Drops a plan, also one that is still being worked out: its job notices and ends.</summary>
internal sealed class StopCover(SchoolDb db)
{
    public Task<Outcome<CoverPlan>> RunAsync(Guid planId, CancellationToken cancel) => db.InTransactionAsync<CoverPlan>(
        async cancel =>
        {
            await db.LockAsync([PlanCover.LockOf(planId)], cancel);
            if (await db.Set<CoverPlan>().SingleOrDefaultAsync(c => c.Id == planId, cancel) is not { } plan)
            {
                return Refusal.NotFound("plan for cover");
            }

            return plan.Stop() is { } refusal ? refusal : plan;
        },
        cancel);
}
