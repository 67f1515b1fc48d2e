using School.Web.Modules.Calendars;
using School.Web.Modules.Cars;
using School.Web.Modules.Diary;
using School.Web.Modules.Messages;
using School.Web.Modules.People;
using School.Web.Modules.Pupils;
using School.Web.Modules.Records;
using School.Web.Modules.Syllabus;
using School.Web.Modules.Travel;

namespace School.Web.Modules;

/// <summary>Every module of the service; deleting a feature is deleting its folder and its lines here.</summary>
internal static class ModuleList
{
    public static IServiceCollection AddModules(this IServiceCollection services, IConfiguration configuration) => services
        .AddPeople(configuration)
        .AddCars()
        .AddPupils()
        .AddTravel(configuration)
        .AddDiary()
        .AddSyllabus()
        .AddMessages(configuration)
        .AddCalendars()
        .AddRecords();

    public static void MapModules(this IEndpointRouteBuilder app)
    {
        app.MapPeople();
        app.MapCars();
        app.MapPupils();
        app.MapTravel();
        app.MapDiary();
        app.MapSyllabus();
        app.MapMessages();
        app.MapCalendars();
        app.MapRecords();
    }
}
