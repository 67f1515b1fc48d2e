using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Settings;

internal sealed record HolidayJson(string Nation, LocalDate Date, string Name)
{
    public static HolidayJson Of(Holiday row) => new(row.Nation, row.Date, row.Name);
}

internal static class HolidayEndpoints
{
    public static void MapHolidays(this IEndpointRouteBuilder app)
    {
        var holidays = app.MapApi("holidays");
        holidays.MapGet("", ListAsync).Needs(Permission.SeeLessons)
            .WithName("ListHolidays").WithSummary("Public holidays by date, all of a year (this year when none is given).")
            .Produces<Page<HolidayJson>>().ProducesProblem(400);
        holidays.MapPost("", AddAsync).Needs(Permission.ManageSchool).WithIdempotency()
            .WithName("AddHoliday").WithSummary("Adds a holiday to the school's list.").Produces<HolidayJson>(201).ProducesProblem(400);
        holidays.MapGet("{nation}/{date}", GetAsync).Needs(Permission.SeeLessons)
            .WithName("GetHoliday").WithSummary("One holiday.").Produces<HolidayJson>().ProducesProblem(404);
        holidays.MapDelete("{nation}/{date}", RemoveAsync).Needs(Permission.ManageSchool).WithIdempotency()
            .WithName("RemoveHoliday").WithSummary("Takes a holiday off the list.").Produces(204).ProducesProblem(404);
    }

    private static async Task<IResult> ListAsync(string? nation, [Between(1, 9999)] int? year, int? limit, string? cursor, SchoolDb db, IClock clock, CancellationToken cancel)
    {
        var wanted = year ?? clock.GetCurrentInstant().InUtc().Year;
        if (wanted is < 1 or > 9999)
        {
            return Refusal.Invalid(nameof(year), "Give a year in four digits.").ToProblem();
        }

        var (first, last) = (new LocalDate(wanted, 1, 1), new LocalDate(wanted, 12, 31));
        var rows = await db.Set<Holiday>().AsNoTracking()
            .Where(h => (nation == null || h.Nation == nation) && h.Date >= first && h.Date <= last)
            .OrderBy(h => h.Date).ThenBy(h => h.Nation).ToListAsync(cancel);
        return rows.ConvertAll(HolidayJson.Of).PageOf(limit, cursor, row => $"{row.Nation} {row.Date:uuuu-MM-dd}").ToResult();
    }

    private static async Task<IResult> GetAsync(string nation, QueryDate date, SchoolDb db, CancellationToken cancel) =>
        date.Date is { } day && await db.Set<Holiday>().AsNoTracking().SingleOrDefaultAsync(h => h.Nation == nation && h.Date == day, cancel) is { } row
            ? Results.Ok(HolidayJson.Of(row))
            : Refusal.NotFound("holiday").ToProblem();

    private static async Task<IResult> AddAsync(HolidayRequest request, AddHoliday add, Viewer viewer, CancellationToken cancel) =>
        (await add.RunAsync(viewer, request, cancel)).ToResult(
            row => Results.Created($"{ApiSetup.Prefix}/holidays/{row.Nation}/{row.Date:uuuu-MM-dd}", HolidayJson.Of(row)));

    private static async Task<IResult> RemoveAsync(string nation, QueryDate date, RemoveHoliday remove, Viewer viewer, CancellationToken cancel) =>
        (date.Date is { } day ? await remove.RunAsync(viewer, new(nation, day), cancel) : Refusal.NotFound("holiday")).ToResult(_ => Results.NoContent());
}
