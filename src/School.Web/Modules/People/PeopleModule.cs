using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Operations;

namespace School.Web.Modules.People;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class PeopleModule
{
    public static IServiceCollection AddPeople(this IServiceCollection services, IConfiguration configuration)
    {
        services.AddSignIn(configuration);
        services.AddScoped<InstructorBook>();
        services.AddScoped<SignIns>();
        services.AddScoped<INeedAttention, Registrations>();
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("instructor", "the instructor", "/people/instructors/"));
        foreach (var kind in (ReadOnlySpan<string>)["token", "person"])
        {
            services.AddSingleton<IAuditLabels>(new PlainAuditLabels(kind, "a sign-in", null));
        }

        services.AddScoped<InvitePerson>();
        services.AddScoped<AcceptInvitation>();
        services.AddScoped<AskForNewPassword>();
        services.AddScoped<CloseSignIn>();
        services.AddScoped<ChooseNewPassword>();
        services.AddScoped<ChangePassword>();
        services.AddScoped<SignOutEverywhere>();
        services.AddScoped<AddInstructor>();
        services.AddScoped<ChangeInstructor>();
        services.AddScoped<RetireInstructor>();
        services.AddScoped<IInvariant, SecondStepsOpen>();
        services.AddSingleton(AboutPerson(InvitePerson.MessageKind));
        services.AddSingleton(AboutPerson(AskForNewPassword.MessageKind));
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
