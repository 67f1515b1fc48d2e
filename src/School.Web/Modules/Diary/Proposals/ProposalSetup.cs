using School.Web.Modules.Diary.Mail;
using School.Web.Platform.Jobs;

namespace School.Web.Modules.Diary.Proposals;

internal static class ProposalSetup
{
    private const string EveryFiveSeconds = "*/5 * * * * *";

    public static void AddProposals(this IServiceCollection services)
    {
        services.AddScoped<DiaryVersions>();
        services.AddScoped<ProposalReader>();
        services.AddScoped<MakeProposal>();
        services.AddScoped<ApplyProposal>();
        services.AddScoped<DropProposal>();
        services.AddScoped<ChangesMail>();
        services.AddScoped<WorkOutProposals>();
        services.AddRecurringJob<WorkOutProposals>(WorkOutProposals.Job, EveryFiveSeconds, job => job.RunDueAsync(CancellationToken.None));
    }
}
