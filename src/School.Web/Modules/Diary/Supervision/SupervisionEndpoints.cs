using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Supervision;

/// <summary>A day of the record: minutes given by the diary, minutes somebody sat in as entered, each by themselves in supervised; byName and byNumber are of the first.</summary>
internal sealed record TraineeDayJson(LocalDate Date, int GivenMinutes, int SupervisedMinutes, string? ByName, string? ByNumber, IReadOnlyList<SupervisedDayJson> Supervised)
{
    public static TraineeDayJson Of(TraineeDay day)
    {
        var first = day.Supervised.Count > 0 ? day.Supervised[0] : null;
        return new(day.Date, day.Given, day.SatIn, first?.ByName, first?.ByNumber, [.. day.Supervised.Select(SupervisedDayJson.Of)]);
    }
}

/// <summary>How it stands under option 1: needed is one fifth of the time given in the period. The first and last day entered are those of all, so that an earlier licence's days are found.</summary>
internal sealed record SupervisionJson(
    Guid InstructorId, LocalDate From, LocalDate Until, int GivenMinutes, int SupervisedMinutes, int NeededMinutes, bool Enough, IReadOnlyList<TraineeDayJson> Days,
    LocalDate? EnteredFrom, LocalDate? EnteredTo)
{
    public static SupervisionJson Of(SupervisionRecord record) => new(
        record.Trainee.Id, record.From, record.Until, record.Given, record.Supervised, record.Needed, record.IsEnough, [.. record.Days.Select(TraineeDayJson.Of)],
        record.EnteredFrom, record.EnteredTo);
}

/// <summary>A day as it was entered.</summary>
internal sealed record SupervisedDayJson(LocalDate Date, int Minutes, string ByName, string ByNumber)
{
    public static SupervisedDayJson Of(SupervisedDay row) => new(row.Date, row.Minutes, row.ByName, row.ByNumber);
}

internal static class SupervisionEndpoints
{
    public static void MapSupervision(this IEndpointRouteBuilder app)
    {
        var days = app.MapApi("instructors/{id:guid}/supervision").WithTags("instructors");
        days.MapGet("", GetAsync).Needs(Permission.ChangeHours).WithName("GetSupervision")
            .WithSummary("A trainee's daily record under option 1, and the share so far; own, or anybody's for the office. Without from and to: of the licence that is held; of one who holds none any more, all that was entered.")
            .Produces<SupervisionJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(422);
        days.MapGet("{date}", GetDayAsync).Needs(Permission.ChangeHours).WithName("GetSupervisedDay").WithSummary("One day as it was entered, with its ETag; byNumber, on the certificate, says of whom where several sat in.")
            .Produces<SupervisedDayJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409);
        days.MapPut("{date}", KeepAsync).Needs(Permission.ChangeHours).WithIdempotency().WithName("KeepSupervision")
            .WithSummary("Enters how long an approved instructor sat in on a day, or puts it right. Wants If-Match: the ETag to put right what was entered, of whom byNumber says where several sat in; * for what is not entered yet, also of another who sat in on that day.")
            .Produces<SupervisedDayJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
        days.MapDelete("{date}", RemoveAsync).Needs(Permission.ChangeHours).WithIdempotency().WithName("RemoveSupervision")
            .WithSummary("Takes back what was entered by mistake, of whom byNumber says where several sat in. If-Match is honoured when sent.").Produces(204).ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(412);
    }

    private static async Task<IResult> GetAsync(
        Guid id, QueryDate? from, QueryDate? to, SupervisionBook book, InstructorBook instructors, SchoolInfo school, Viewer viewer, CancellationToken cancel)
    {
        var zone = (await school.GetAsync(cancel)).Zone;
        var (first, last) = (from?.In(zone), to?.In(zone));
        var errors = new FieldErrors().WrongYear(nameof(from), first).WrongYear(nameof(to), last);
        errors.When(!errors.Any && first > last, nameof(to), "The last date must not be before the first.");
        return errors.ToRefusal() is { } invalid ? invalid.ToProblem()
            : !viewer.KeepsDiaryOf(id) || await instructors.FindAsync(id, cancel) is not { } card ? Refusal.NotFound("instructor").ToProblem()
            : await book.ReadAsync(card, first, last, cancel) is { } record ? Results.Ok(SupervisionJson.Of(record))
            : KeepSupervision.NotKept(id).ToProblem();
    }

    private static async Task<IResult> GetDayAsync(
        Guid id, QueryDate date, [AtMost(SupervisedDay.LongestNumber)] string? byNumber, HttpContext context, SchoolDb db, SchoolInfo school, Viewer viewer, CancellationToken cancel)
    {
        var on = await ReadAsync(date, school, cancel);
        var rows = viewer.KeepsDiaryOf(id) ? await db.Set<SupervisedDay>().AsNoTracking().Where(d => d.InstructorId == id && d.Date == on).OrderBy(d => d.Id).ToListAsync(cancel) : [];
        return KeepSupervision.Meant(rows, byNumber).ToRow(context, SupervisedDayJson.Of);
    }

    private static async Task<IResult> KeepAsync(
        Guid id, QueryDate date, [AtMost(SupervisedDay.LongestNumber)] string? byNumber, SupervisionInput input, HttpContext context, KeepSupervision keep, SchoolInfo school, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context)
        ?? (await keep.RunAsync(viewer, id, new(await ReadAsync(date, school, cancel), input, byNumber), ETags.Wanted(context), cancel)).ToRow(context, SupervisedDayJson.Of);

    private static async Task<IResult> RemoveAsync(
        Guid id, QueryDate date, [AtMost(SupervisedDay.LongestNumber)] string? byNumber, HttpContext context, RemoveSupervision remove, SchoolInfo school, Viewer viewer, CancellationToken cancel) =>
        (await remove.RunAsync(viewer, id, new(await ReadAsync(date, school, cancel), byNumber), ETags.Wanted(context), cancel)).ToResult(_ => Results.NoContent());

    private static async Task<LocalDate> ReadAsync(QueryDate date, SchoolInfo school, CancellationToken cancel) => date.In((await school.GetAsync(cancel)).Zone);
}
