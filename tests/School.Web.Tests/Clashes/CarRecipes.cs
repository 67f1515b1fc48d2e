using School.Web.Modules.Cars;
using School.Web.Tests.Diary;
using static System.Net.Http.HttpMethod;

namespace School.Web.Tests.Clashes;

internal static class CarRecipes
{
    private static readonly object Service = new { start = "2026-03-04T09:00:00Z", end = "2026-03-04T12:00:00Z", reason = "service" };

    public static IEnumerable<Recipe> All =>
    [
        new("AddCar", world => Task.FromResult(Act.Api(world.Office, Post, "/api/v1/cars", Hatch(world.Next()), etag: null))),
        new("ChangeCar", async world => Act.Api(world.Office, Put, Url(await world.CarAsync()), Hatch(world.Next()))),
        new("RetireCar", async world => Act.Api(world.Office, Post, $"{Url(await world.CarAsync())}/retire")),
        new("TakeBackCar", async world =>
        {
            var car = await world.CarAsync();
            (await world.Office.PostAsync($"{Url(car)}/retire", null)).EnsureSuccessStatusCode();
            return Act.Api(world.Office, Post, $"{Url(car)}/take-back");
        }),
        new("HoldCar", async world =>
        {
            var (car, instructor) = (await world.CarAsync(), await world.InstructorAsync());
            return Act.Api(world.Office, Post, $"{Url(car)}/holdings", new { instructorId = instructor.Id, from = "2026-03-03" });
        }),
        new("EndHolding", async world =>
        {
            var (car, instructor) = (await world.CarAsync(), await world.InstructorAsync());
            var held = await world.Office.SendJsonAsync(Post, $"{Url(car)}/holdings", new { instructorId = instructor.Id, from = "2026-03-03" });
            return Act.Api(world.Office, Delete, $"{Url(car)}/holdings/{(await held.JsonAsync(System.Net.HttpStatusCode.Created)).Id()}");
        }),
        new("TakeOffRoad", async world => Act.Api(world.Office, Post, $"{Url(await world.CarAsync())}/off-road", Service, etag: null)),
        new("ChangeOffRoad", async world => Act.Api(
            world.Office, Put, await OffRoadAsync(world), new { start = "2026-03-04T09:00:00Z", end = "2026-03-05T12:00:00Z", reason = "clutch" })),
        new("PutBackOnRoad", async world => Act.Api(world.Office, Delete, await OffRoadAsync(world))),
    ];

    private static async Task<string> OffRoadAsync(World world)
    {
        var url = $"{Url(await world.CarAsync())}/off-road";
        return $"{url}/{(await (await world.Office.SendJsonAsync(Post, url, Service)).JsonAsync(System.Net.HttpStatusCode.Created)).Id()}";
    }

    private static string Url(Car car) => $"/api/v1/cars/{car.Id}";

    private static object Hatch(int n) => new
    {
        label = $"red hatch {n}",
        plate = $"LK24 F{(char)('A' + (n / 26 % 26))}{(char)('A' + (n % 26))}",
        gearbox = "manual",
        dualControls = true,
        firstRegistered = "2024-03-01",
        motExpires = "2028-02-29",
        taxExpires = "2026-09-30",
        insuranceExpires = "2026-11-30",
        serviceDue = "2026-07-01",
    };
}
