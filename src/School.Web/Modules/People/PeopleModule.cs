using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Account;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Find;
using School.Web.Platform.Jobs;
using School.Web.Platform.Keys;
using School.Web.Platform.Layout;
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
        services.AddSealedColumn("people.person_tokens", "value", "name = 'AuthenticatorKey'");
        services.AddSingleton(new EndedByRenewal(
            "people.people", "UPDATE people.people SET security_stamp = upper(replace(gen_random_uuid()::text, '-', '')), concurrency_stamp = gen_random_uuid()::text"));
        services.AddSingleton(new EndedByRenewal("people.sessions", "UPDATE people.sessions SET ended_at = now() WHERE ended_at IS NULL"));
        services.AddSingleton(new EndedByRenewal("people.api_tokens", "UPDATE people.api_tokens SET revoked_at = now() WHERE revoked_at IS NULL"));
        Array.ForEach(SignInRetention.Rules, rule => services.AddSingleton(rule));
        services.AddScoped<InstructorBook>();
        services.AddScoped<SignIns>();
        services.AddScoped<IFind, InstructorsFound>();
        services.AddScoped<IHoldPapers, Registrations>();
        services.AddScoped<INeedAttention, InstructorsToAsk>();
        services.AddScoped<PersonNames>();
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("instructor", "the instructor", "/people/instructors/"));
        foreach (var kind in new[] { "token", "person", "sign-in", "password", "second-step", "permission" })
        {
            services.AddScoped<IAuditLabels>(provider => new PersonAuditLabels(kind, provider.GetRequiredService<SchoolDb>()));
        }

        services.AddScoped<InvitePerson>();
        services.AddScoped<ChangeHats>();
        services.AddScoped<SignInNames>();
        services.AddScoped<IAddressBook, PersonAddresses>();
        services.AddScoped<IAddressBook, InstructorAddresses>();
        services.AddSingleton<ILetterWording, SignInWording>();
        services.AddSingleton<ILetterWording, HatsWording>();
        services.AddSingleton<ILetterWording, ReachedWording>();
        services.AddScoped<AskReached>();
        services.AddScoped<NoteReached>();
        services.AddScoped<LettersArrive>();
        services.AddScoped<FirstCode>();
        services.AddScoped<BeginHere>();
        services.AddScoped<TeachToo>();
        services.AddScoped<IFirstSteps, PeopleSteps>();
        services.AddSingleton(AboutPerson(AskReached.MessageKind));
        services.AddScoped<AcceptInvitation>();
        services.AddScoped<AskForNewPassword>();
        services.AddScoped<CloseSignIn>();
        services.AddScoped<ChooseNewPassword>();
        services.AddScoped<ChangePassword>();
        services.AddScoped<ChangeOwnName>();
        services.AddScoped<ChangeSignInName>();
        services.AddScoped<JoinInvitation>();
        services.AddScoped<SignOutEverywhere>();
        services.AddScoped<ApiTokens>();
        services.AddScoped<IssueToken>();
        services.AddScoped<EndToken>();
        services.AddScoped<StartSecondStep>();
        services.AddScoped<TurnOnSecondStep>();
        services.AddScoped<MakeRecoveryCodes>();
        services.AddScoped<TurnOffSecondStep>();
        services.AddScoped<WriteResetLetters>();
        services.AddScoped<ContactBook>();
        services.AddScoped<AddContact>();
        services.AddScoped<ChangeContactDetails>();
        services.AddScoped<ForgetContact>();
        services.AddScoped<IAddressBook, ContactAddresses>();
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("contact", "a contact", "/pupils/contacts/"));
        services.AddScoped<AddInstructor>();
        services.AddScoped<ChangeInstructor>();
        services.AddScoped<RetireInstructor>();
        services.AddScoped<ServeAreas>();
        services.AddScoped<IServeAreas, ServedAreas>();
        services.AddSingleton<IInvariant>(ServedAreas.AreAreas);
        services.AddRecurringJob<NoteWrongTries>(NoteWrongTries.Job, EveryHalfMinute, job => job.RunAsync(CancellationToken.None));
        services.AddRecurringJob<WriteResetLetters>(WriteResetLetters.Job, EveryFiveSeconds, job => job.RunAsync(CancellationToken.None));
        services.AddScoped<IInvariant, SecondStepsOpen>();
        services.AddSingleton(AboutPerson(InvitePerson.MessageKind));
        services.AddSingleton(AboutPerson(WriteResetLetters.MessageKind));
        services.AddSingleton(AboutPerson(ChangeHats.MessageKind));
        return services;
    }

    private static LetterKind AboutPerson(string kind) => new(kind, "EXISTS (SELECT FROM people.people p WHERE p.id = m.about_id)");

    public static void MapPeople(this IEndpointRouteBuilder app)
    {
        app.MapGet("/", StartAsync).Needs(Permission.OwnSignIn).ExcludeFromDescription();
        app.MapTokens();
        app.MapSignIns();
        app.MapInstructors();
        app.MapServedAreas();
        app.MapContacts();
    }

    private static async Task<IResult> StartAsync(Viewer viewer, Navigation navigation, IFirstPage first, CancellationToken cancel) => Results.LocalRedirect(
        viewer.SecondStepMissing ? PageSignIn.SetUpSecondStep : await first.ForAsync(viewer, cancel) ?? navigation.StartOf(viewer));
}
