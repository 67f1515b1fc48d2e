using School.Web.Modules.Cars.Allocation;
using School.Web.Modules.Cars.Contracts;

namespace School.Web.Modules.Cars;

/// <summary>Table of contents of the module: services, routes, recurring jobs.</summary>
internal static class CarsModule
{
    public static IServiceCollection AddCars(this IServiceCollection services)
    {
        services.AddScoped<CarPark>();
        services.AddScoped<AddCar>();
        services.AddScoped<ChangeCar>();
        services.AddScoped<RetireCar>();
        services.AddScoped<TakeBackCar>();
        services.AddScoped<HoldCar>();
        services.AddScoped<EndHolding>();
        services.AddScoped<TakeOffRoad>();
        services.AddScoped<ChangeOffRoad>();
        services.AddScoped<PutBackOnRoad>();
        services.AddScoped<CarsNeeded>();
        services.AddScoped<GiveOutCars>();
        return services;
    }

    public static void MapCars(this IEndpointRouteBuilder app)
    {
        app.MapCarEndpoints();
        app.MapHoldingEndpoints();
        app.MapOffRoadEndpoints();
        app.MapAllocations();
    }
}
