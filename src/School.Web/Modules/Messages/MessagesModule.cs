using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Messages.Writing;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Find;
using School.Web.Platform.Jobs;
using School.Web.Platform.Operations;

namespace School.Web.Modules.Messages;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class MessagesModule
{
    private const string EveryFifteenSeconds = "*/15 * * * * *";

    public static IServiceCollection AddMessages(this IServiceCollection services, IConfiguration configuration)
    {
        services.AddScoped<Outbox>();
        services.AddScoped<AddressBooks>();
        services.AddSingleton<KnownSubjects>();
        services.AddScoped<LetterMaker>();
        Array.ForEach(LetterRetention.Rules, rule => services.AddSingleton(rule));
        services.AddScoped<Letterheads>();
        services.AddScoped<IInvariant, LettersHaveCauses>();
        services.AddScoped<MessageQueries>();
        services.AddScoped<INeedAttention, FailedMessages>();
        services.AddScoped<INeedAttention, WaitingTooLong>();
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("message", "the message", "/messages/"));
        services.AddScoped<MessageList>();
        services.AddScoped<IFind, MessagesFound>();
        services.AddScoped<SendAgain>();
        services.AddScoped<SendAllAgain>();
        services.AddScoped<SendDueMessages>();
        services.AddSingleton(_ => MailSettings.Read(configuration));
        services.AddScoped<IMailTransport>(provider => provider.GetRequiredService<MailSettings>() is { HasServer: true } settings
            ? new SmtpMail(settings)
            : new FolderMail(provider.GetRequiredService<MailFolder>().Path));
        services.AddSingleton<MailFolder>();
        services.AddSingleton<MailWay>();
        services.AddHealthChecks().AddCheck<MessagesOnTime>("messages");
        services.AddRecurringJob<SendDueMessages>(SendDueMessages.Job, EveryFifteenSeconds, job => job.RunAsync(CancellationToken.None));
        return services;
    }

    public static void MapMessages(this IEndpointRouteBuilder app)
    {
        // Read now, so that a mistake in the settings stops the start.
        _ = app.ServiceProvider.GetRequiredService<MailSettings>();
        app.MapMessageEndpoints();
    }
}

/// <summary>Where mail goes that no server takes.</summary>
internal sealed class MailFolder(MailSettings settings, IConfiguration configuration, IHostEnvironment host)
{
    public string Path { get; } = System.IO.Path.Combine(
        host.ContentRootPath, settings.Folder ?? System.IO.Path.Combine(configuration["Data"] ?? configuration["SCHOOL_DATA"] ?? ".data", "mail"));
}
