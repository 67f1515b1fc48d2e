using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Find;
using School.Web.Platform.Keys;
using School.Web.Platform.Operations;

namespace School.Web.Modules.Pupils;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class PupilsModule
{
    public static IServiceCollection AddPupils(this IServiceCollection services)
    {
        services.AddScoped<PupilBook>();
        services.AddScoped<OwnPupils>();
        services.AddScoped<LearnsIn>();
        services.AddScoped<LessonAhead>();
        services.AddScoped<FoundPupils>();
        services.AddScoped<IFind, PupilsFound>();
        services.AddScoped<IFind, ContactsFound>();
        services.AddScoped<OpenByReason>();
        services.AddScoped<NumbersByReason>();
        services.AddScoped<UsualInstructorOf>();
        services.AddScoped<INeedAttention, OpenedMany>();
        services.AddSingleton(PupilRetention.Accesses);
        services.AddScoped<PupilTimes>();
        services.AddScoped<OpenedBook>();
        services.AddScoped<PupilsToBook>();
        services.AddScoped<IHoldPapers, PapersOfPupils>();
        services.AddScoped<INeedAttention, PapersOfPupils>();
        services.AddScoped<INeedAttention, PupilsToAsk>();
        services.AddScoped<IAuditLabels, PupilAuditLabels>();
        services.AddScoped<FirstPupils>();
        services.AddScoped<IFirstSteps, PupilSteps>();
        services.AddScoped<AddPupil>();
        services.AddScoped<IAddressBook, PupilAddresses>();
        services.AddScoped<ChangePupil>();
        services.AddScoped<ChangeContact>();
        services.AddScoped<ChangeTeaching>();
        services.AddScoped<ChangeAvailability>();
        services.AddScoped<CheckEyesight>();
        services.AddScoped<ChangePapers>();
        services.AddScoped<PapersReader>();
        services.AddScoped<DrivingGround>();
        services.AddScoped<IKnowPlaces, PupilPlaces>();
        services.AddScoped<AddPupilPlace>();
        services.AddScoped<ChangePupilPlace>();
        services.AddScoped<RemovePupilPlace>();
        services.AddScoped<PutBeside>();
        services.AddScoped<RemoveBeside>();
        services.AddScoped<InviteBeside>();
        services.AddScoped<RemoveContact>();
        services.AddScoped<BesideBook>();
        services.AddScoped<IHearOfContacts, TellOfContact>();
        services.AddScoped<ICopyLetters, CopiesOfPupils>();
        services.AddScoped<ISeeContacts, SeenContacts>();
        services.AddScoped<ISeeReceivers, SeenContacts>();
        services.AddScoped<IKnowPupils, PupilsWhoLearn>();
        services.AddSingleton<ILetterWording, BesideWording>();
        services.AddSingleton(new LetterKind(BesideWording.Kind, "EXISTS (SELECT FROM pupils.pupils p WHERE p.id = m.about_id)"));
        services.AddSingleton<ILetterWording, ContactWording>();
        services.AddSingleton(new LetterKind(ContactWording.Kind, "EXISTS (SELECT FROM pupils.pupils p WHERE p.id = m.about_id)"));
        services.AddSingleton(CopiesOfPupils.AreAllowed);
        services.AddScoped<RetirePupil>();
        services.AddScoped<TakeBackPupil>();
        services.AddScoped<ReadGuarded>();
        services.AddScoped<ChangeGuarded>();
        services.AddSealedColumn("pupils.pupils", "driver_number_sealed");
        services.AddSealedColumn("pupils.pupils", "theory_certificate_sealed");
        services.AddSealedColumn("pupils.pupils", "health_notes_sealed");
        services.AddScoped<IInvariant, GuardedColumnsOpen>();
        return services;
    }

    public static void MapPupils(this IEndpointRouteBuilder app)
    {
        app.MapPupilEndpoints();
        app.MapGuardedEndpoints();
        app.MapEligibility();
        app.MapPapers();
        app.MapPupilPlaces();
        app.MapBeside();
        app.MapContactRemoval();
        app.MapMe();
        app.MapAvailability();
        app.MapAccess();
    }
}
