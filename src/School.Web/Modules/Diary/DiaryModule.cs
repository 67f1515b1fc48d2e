using School.Web.Modules.Diary.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class DiaryModule
{
    public static IServiceCollection AddDiary(this IServiceCollection services)
    {
        services.AddScoped<IModuleDefaults, DiaryDefaults>();
        services.AddScoped<LessonBook>();
        return services;
    }

    public static void MapDiary(this IEndpointRouteBuilder app)
    {
    }
}
