using School.Web.Modules.Places.Contracts;
using School.Web.Modules.Places.Postcodes;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Api;
using School.Web.Platform.Find;

namespace School.Web.Modules.Places;

/// <summary>Table of contents of the module that finds places: by postcode, among those that are known, and in which area they lie.</summary>
internal static class PlacesModule
{
    public static IServiceCollection AddPlaces(this IServiceCollection services)
    {
        services.Configure<LargeBodies>(large =>
        {
            large.Allow(PostcodesModel.Path, PostcodeFile.LargestUpload);
            large.Allow(PostcodeEndpoints.Path, PostcodeFile.LargestUpload);
        });
        services.AddScoped<PlaceFinder>();
        services.AddScoped<IFirstSteps, PlaceSteps>();
        services.AddScoped<IFind, PlacesFound>();
        services.AddScoped<LoadPostcodes>();
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("postcodes", "the postcodes", null));
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("place", "a place of the school", null));
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("area", "an area", null));
        services.AddScoped<AddPlace>();
        services.AddScoped<ChangePlace>();
        services.AddScoped<RemovePlace>();
        services.AddScoped<AddArea>();
        services.AddScoped<ChangeArea>();
        services.AddScoped<RemoveArea>();
        services.AddScoped<IKnowPlaces, SchoolPlaces>();
        services.AddScoped<AreaBook>();
        return services;
    }

    public static void MapPlaces(this IEndpointRouteBuilder app)
    {
        app.MapPostcodes();
        app.MapSchoolPlaces();
        app.MapAreas();
        app.MapGround();
    }
}
