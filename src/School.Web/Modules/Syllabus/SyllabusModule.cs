using School.Web.Modules.Syllabus.Lessons;
using School.Web.Platform.Database;

namespace School.Web.Modules.Syllabus;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class SyllabusModule
{
    public static IServiceCollection AddSyllabus(this IServiceCollection services)
    {
        services.AddScoped<IModuleDefaults, SyllabusDefaults>();
        services.AddSingleton<EditionMemory>();
        services.AddScoped<SyllabusBook>();
        services.AddScoped<LearningReader>();
        services.AddScoped<LessonPlanner>();
        services.AddScoped<RecordReader>();
        services.AddScoped<RecordRules>();
        services.AddScoped<RecordHistory>();
        services.AddScoped<RecordLesson>();
        services.AddScoped<ReflectOnLesson>();
        return services;
    }

    public static void MapSyllabus(this IEndpointRouteBuilder app)
    {
        app.MapLessonRecords();
    }
}
