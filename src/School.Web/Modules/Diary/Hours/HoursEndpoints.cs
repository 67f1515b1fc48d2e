using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Hours;

/// <summary>Working hours on the wire: day in English, times as HH:mm.</summary>
internal sealed record HoursBody(
    IsoDayOfWeek Day, [property: Form(FormAttribute.HourMinute)] string Start, [property: Form(FormAttribute.HourMinute)] string End, LocalDate From, LocalDate? To = null)
{
    private static readonly LocalTimePattern HourMinute = LocalTimePattern.CreateWithInvariantCulture("HH:mm");

    public static string Text(LocalTime time) => HourMinute.Format(time);

    public Outcome<HoursRequest> Read()
    {
        var (start, end) = (HourMinute.Parse(Start ?? ""), HourMinute.Parse(End ?? ""));
        const string Form = "Give the time as HH:mm, such as 08:30.";
        var errors = new FieldErrors().When(!start.Success, nameof(Start), Form).When(!end.Success, nameof(End), Form);
        return errors.ToRefusal() is { } invalid ? invalid : new HoursRequest(Day, start.Value, end.Value, From, To);
    }
}

internal sealed record HoursJson(
    Guid Id, Guid InstructorId, IsoDayOfWeek Day, string Start, string End, LocalDate From, LocalDate? To, int Version, IReadOnlyList<Guid> Affected)
{
    public static HoursJson Of(WorkingHoursRow row, IReadOnlyList<Guid> affected) => new(
        row.Id, row.InstructorId, row.Day, HoursBody.Text(row.Start), HoursBody.Text(row.End), row.From, row.To, row.Version, affected);
}

internal sealed record AffectedLessons(IReadOnlyList<Guid> Affected);

internal static class HoursEndpoints
{
    public static void MapWorkingHours(this IEndpointRouteBuilder app)
    {
        var hours = app.MapApi("instructors/{id:guid}/working-hours").WithTags("instructors");
        hours.MapGet("", ListAsync).Needs(Permission.ChangeHours)
            .WithName("ListWorkingHours").WithSummary("Working hours in local time, by weekday; own, or anybody's for the office.")
            .Produces<Page<HoursJson>>().ProducesProblem(400).ProducesProblem(404);
        hours.MapGet("{hoursId:guid}", GetAsync).Needs(Permission.ChangeHours)
            .WithName("GetWorkingHours").WithSummary("One span, with its ETag.").Produces<HoursJson>().ProducesProblem(404);
        hours.MapPost("", AddAsync).Needs(Permission.ChangeHours).WithIdempotency()
            .WithName("AddWorkingHours").WithSummary("Adds a span. The answer names booked lessons that are outside working hours.")
            .Produces<HoursJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(409);
        hours.MapPut("{hoursId:guid}", ChangeAsync).Needs(Permission.ChangeHours).WithIdempotency()
            .WithName("ChangeWorkingHours").WithSummary("Changes a span. Wants If-Match.")
            .Produces<HoursJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(412).ProducesProblem(428);
        hours.MapDelete("{hoursId:guid}", RemoveAsync).Needs(Permission.ChangeHours).WithIdempotency()
            .WithName("RemoveWorkingHours").WithSummary("Removes a span.").Produces<AffectedLessons>().ProducesProblem(404);
    }

    private static async Task<IResult> ListAsync(Guid id, int? limit, string? cursor, SchoolDb db, InstructorBook instructors, Viewer viewer, CancellationToken cancel)
    {
        if (!viewer.KeepsDiaryOf(id) || await instructors.FindAsync(id, cancel) is null)
        {
            return Refusal.NotFound("instructor").ToProblem();
        }

        var rows = await db.Set<WorkingHoursRow>().AsNoTracking().Where(h => h.InstructorId == id).ToListAsync(cancel);
        var ordered = rows.OrderBy(h => h.Day).ThenBy(h => h.Start).ThenBy(h => h.From);
        return ordered.Select(h => HoursJson.Of(h, [])).ToList().PageOf(limit, cursor, h => h.Id.ToString()).ToResult();
    }

    private static async Task<IResult> GetAsync(Guid id, Guid hoursId, HttpContext context, SchoolDb db, Viewer viewer, CancellationToken cancel) =>
        viewer.KeepsDiaryOf(id) && await db.Set<WorkingHoursRow>().AsNoTracking().SingleOrDefaultAsync(h => h.Id == hoursId && h.InstructorId == id, cancel) is { } row
            ? ETags.Ok(context, row, HoursJson.Of(row, []))
            : Refusal.NotFound("working hours").ToProblem();

    private static async Task<IResult> AddAsync(Guid id, HoursBody body, HttpContext context, AddHours add, Viewer viewer, CancellationToken cancel)
    {
        var request = body.Read();
        return request.Ok
            ? (await add.RunAsync(viewer, id, NewHours.Of(request.Value), cancel)).ToResult(done => ETags.Created(
                context, done.Row, $"{ApiSetup.Prefix}/instructors/{id}/working-hours/{done.Row.Id}", HoursJson.Of(done.Row, done.Affected)))
            : request.Refusal.ToProblem();
    }

    private static async Task<IResult> ChangeAsync(
        Guid id, Guid hoursId, HoursBody body, HttpContext context, ChangeHours change, Viewer viewer, CancellationToken cancel)
    {
        if (ETags.Missing(context) is { } missing)
        {
            return missing;
        }

        var request = body.Read();
        return request.Ok
            ? (await change.RunAsync(viewer, id, hoursId, request.Value, ETags.Wanted(context), cancel)).ToResult(
                done => ETags.Ok(context, done.Row, HoursJson.Of(done.Row, done.Affected)))
            : request.Refusal.ToProblem();
    }

    private static async Task<IResult> RemoveAsync(Guid id, Guid hoursId, RemoveHours remove, Viewer viewer, CancellationToken cancel) =>
        (await remove.RunAsync(viewer, id, hoursId, cancel)).ToResult(done => Results.Ok(new AffectedLessons(done.Affected)));
}
