using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Cars;

internal sealed record CarView(
    Guid Id, string Label, string Plate, Gearbox Gearbox, bool DualControls, LocalDate FirstRegistered, LocalDate? MotExpires, LocalDate? TaxExpires,
    LocalDate? InsuranceExpires, LocalDate? ServiceDue, LocalDate? RetiredOn)
{
    public static CarView Of(Car car) => new(
        car.Id, car.Label, car.Plate, car.Gearbox, car.DualControls, car.FirstRegistered, car.MotExpires, car.TaxExpires, car.InsuranceExpires,
        car.ServiceDue, car.RetiredOn);
}

internal static class CarEndpoints
{
    public static void MapCarEndpoints(this IEndpointRouteBuilder app)
    {
        var cars = app.MapApi("cars");
        cars.MapGet("", ListAsync).Needs(Permission.SeeCars).WithName("ListCars").WithSummary("Cars of the school; also those that were retired with ?retired=true.")
            .Produces<Page<CarView>>().ProducesProblem(400);
        cars.MapPost("", AddAsync).Needs(Permission.ManageCars).WithIdempotency().WithName("AddCar").WithSummary("Adds a car; `heldBy` is who holds it from today on.")
            .Produces<CarView>(201).ProducesProblem(400);
        cars.MapGet("{id:guid}", GetAsync).Needs(Permission.SeeCars).WithName("GetCar").WithSummary("One car, with its ETag.")
            .Produces<CarView>().ProducesProblem(404);
        cars.MapPut("{id:guid}", ChangeAsync).Needs(Permission.ManageCars).WithIdempotency().WithName("ChangeCar").WithSummary("Changes a car; wants If-Match.")
            .Produces<CarView>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(428);
        cars.MapPost("{id:guid}/retire", RetireAsync).Needs(Permission.ManageCars).WithIdempotency().WithName("RetireCar")
            .WithSummary("No more lessons in this car; its history stays. If-Match is honoured when sent.")
            .Produces<CarView>().ProducesProblem(404).ProducesProblem(412).ProducesProblem(422);
        cars.MapPost("{id:guid}/take-back", TakeBackAsync).Needs(Permission.ManageCars).WithIdempotency().WithName("TakeBackCar")
            .WithSummary("A retired car is taught in again, once somebody holds it. If-Match is honoured when sent.")
            .Produces<CarView>().ProducesProblem(404).ProducesProblem(412);
    }

    private static async Task<IResult> ListAsync(SchoolDb db, bool? retired, int? limit, string? cursor, CancellationToken cancel) =>
        (await db.Set<Car>().AsNoTracking().Where(c => retired == true || c.RetiredOn == null).PageByIdAsync(limit, cursor, CarView.Of, cancel)).ToResult();

    private static async Task<IResult> AddAsync(NewCarInput input, HttpContext context, AddCar add, Viewer viewer, CancellationToken cancel) =>
        (await add.RunAsync(viewer, input, cancel)).ToResult(car => ETags.Created(context, car, $"{ApiSetup.Prefix}/cars/{car.Id}", CarView.Of(car)));

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, SchoolDb db, CancellationToken cancel) =>
        await FindAsync(db, id, cancel) is { } car ? ETags.Ok(context, car, CarView.Of(car)) : Refusal.NotFound("car").ToProblem();

    private static async Task<IResult> ChangeAsync(Guid id, CarInput input, HttpContext context, ChangeCar change, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await change.RunAsync(viewer, id, input, ETags.Wanted(context), cancel)).ToRow(context, CarView.Of);

    private static async Task<IResult> RetireAsync(Guid id, HttpContext context, RetireCar retire, Viewer viewer, CancellationToken cancel) =>
        (await retire.RunAsync(viewer, id, ETags.Wanted(context), cancel)).ToRow(context, CarView.Of);

    private static async Task<IResult> TakeBackAsync(Guid id, HttpContext context, TakeBackCar takeBack, Viewer viewer, CancellationToken cancel) =>
        (await takeBack.RunAsync(viewer, id, ETags.Wanted(context), cancel)).ToRow(context, CarView.Of);

    private static Task<Car?> FindAsync(SchoolDb db, Guid id, CancellationToken cancel) =>
        db.Set<Car>().AsNoTracking().SingleOrDefaultAsync(c => c.Id == id, cancel);
}
