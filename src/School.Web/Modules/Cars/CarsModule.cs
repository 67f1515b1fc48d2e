using School.Web.Modules.Cars.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Find;

namespace School.Web.Modules.Cars;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class CarsModule
{
    public static IServiceCollection AddCars(this IServiceCollection services)
    {
        services.AddScoped<CarPark>();
        services.AddScoped<CarDays>();
        services.AddScoped<IFind, CarsFound>();
        services.AddScoped<IHoldPapers, CarPapers>();
        services.AddSingleton<IAuditLabels>(new PlainAuditLabels("car", "the car", "/cars/"));
        services.AddScoped<AddCar>();
        services.AddScoped<IFirstSteps, CarSteps>();
        services.AddScoped<ChangeCar>();
        services.AddScoped<RetireCar>();
        services.AddScoped<TakeBackCar>();
        services.AddScoped<HoldCar>();
        services.AddScoped<EndHolding>();
        services.AddScoped<TakeOffRoad>();
        services.AddScoped<ChangeOffRoad>();
        services.AddScoped<PutBackOnRoad>();
        return services;
    }

    public static void MapCars(this IEndpointRouteBuilder app)
    {
        app.MapCarEndpoints();
        app.MapHoldingEndpoints();
        app.MapOffRoadEndpoints();
    }
}
