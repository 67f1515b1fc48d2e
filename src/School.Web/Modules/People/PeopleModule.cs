using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Account;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Platform;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Jobs;
using School.Web.Platform.Operations;

namespace School.Web.Modules.People;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class PeopleModule
{
    private const string EveryFiveSeconds = "*/5 * * * * *";
    private const string EveryHalfMinute = "*/30 * * * * *";

    public static IServiceCollection AddPeople(this IServiceCollection services, IConfiguration configuration)
    {
        services.AddSignIn(configuration);
        services.AddScoped<SchoolInfo>();
        services.AddScoped<InstructorBook>();
        services.AddScoped<SignIns>();
        services.AddSingleton<PublicUrl>();
        services.AddScoped<InvitePerson>();
        services.AddScoped<AcceptInvitation>();
        services.AddScoped<AskForNewPassword>();
        services.AddScoped<CloseSignIn>();
        services.AddScoped<ChooseNewPassword>();
        services.AddScoped<ChangePassword>();
        services.AddScoped<ChangeOwnName>();
        services.AddScoped<SignOutEverywhere>();
        services.AddScoped<ApiTokens>();
        services.AddScoped<IssueToken>();
        services.AddScoped<EndToken>();
        services.AddScoped<StartSecondStep>();
        services.AddScoped<TurnOnSecondStep>();
        services.AddScoped<MakeRecoveryCodes>();
        services.AddScoped<TurnOffSecondStep>();
        services.AddScoped<WriteResetLetters>();
        services.AddScoped<AddInstructor>();
        services.AddScoped<ChangeInstructor>();
        services.AddScoped<SaveSchool>();
        services.AddScoped<RetireInstructor>();
        services.AddScoped<IModuleDefaults, SchoolProfileDefaults>();
        services.AddRecurringJob<NoteWrongTries>(NoteWrongTries.Job, EveryHalfMinute, job => job.RunAsync(CancellationToken.None));
        services.AddRecurringJob<WriteResetLetters>(WriteResetLetters.Job, EveryFiveSeconds, job => job.RunAsync(CancellationToken.None));
        services.AddScoped<IInvariant, SecondStepsOpen>();
        services.AddSingleton(AboutPerson(InvitePerson.MessageKind));
        services.AddSingleton(AboutPerson(WriteResetLetters.MessageKind));
        return services;
    }

    private static LetterKind AboutPerson(string kind) => new(kind, "EXISTS (SELECT FROM people.people p WHERE p.id = m.about_id)");

    public static void MapPeople(this IEndpointRouteBuilder app)
    {
        app.MapGet("/", (Viewer viewer) => Results.LocalRedirect(PageSignIn.StartOf(viewer))).Needs(Permission.OwnSignIn).ExcludeFromDescription();
        app.MapTokens();
        app.MapInstructors();
    }
}
