using School.Web.Modules.Accounts;
using School.Web.Modules.Calendars;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary;
using School.Web.Modules.Messages;
using School.Web.Modules.Office;
using School.Web.Modules.People;
using School.Web.Modules.Places;
using School.Web.Modules.Pupils;
using School.Web.Modules.Records;
using School.Web.Modules.School;
using School.Web.Modules.Syllabus;
using School.Web.Modules.Travel;

namespace School.Web.Modules;

/// <summary>Every module of the service; deleting a feature is deleting its folder and its lines here. From the ground up: each uses only those before it.</summary>
internal static class ModuleList
{
    public static IServiceCollection AddModules(this IServiceCollection services, IConfiguration configuration) => services
        .AddSchool()
        .AddRecords()
        .AddPlaces()
        .AddMessages(configuration)
        .AddPeople(configuration)
        .AddTravel(configuration)
        .AddCars()
        .AddPupils()
        .AddDiary()
        .AddSyllabus()
        .AddAccounts()
        .AddCalendars()
        .AddOffice();

    public static void MapModules(this IEndpointRouteBuilder app)
    {
        app.MapSchool();
        app.MapRecords();
        app.MapPlaces();
        app.MapMessages();
        app.MapPeople();
        app.MapTravel();
        app.MapCars();
        app.MapPupils();
        app.MapDiary();
        app.MapSyllabus();
        app.MapAccounts();
        app.MapCalendars();
        app.MapOffice();
    }
}
