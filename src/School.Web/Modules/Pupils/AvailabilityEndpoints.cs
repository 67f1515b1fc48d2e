using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;
using School.Core;
using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>A weekly time on the wire: day in English, times as HH:mm.</summary>
internal sealed record AvailableTimeJson(IsoDayOfWeek Day, [property: Form(FormAttribute.HourMinute)] string From, [property: Form(FormAttribute.HourMinute)] string To)
{
    public static AvailableTimeJson Of(AvailableTime time) => new(time.Day, AvailabilityEndpoints.HourMinute.Format(time.From), AvailabilityEndpoints.HourMinute.Format(time.To));
}

internal sealed record AvailabilityJson([property: Items(0, PupilAvailability.Most)] IReadOnlyList<AvailableTimeJson> Times);

internal static class AvailabilityEndpoints
{
    public static readonly LocalTimePattern HourMinute = LocalTimePattern.CreateWithInvariantCulture("HH:mm");

    public static void MapAvailability(this IEndpointRouteBuilder app)
    {
        var availability = app.MapApi("pupils/{id:guid}/availability").WithTags("pupils");
        availability.MapGet("", GetAsync).Needs(Permission.OwnDetails).OfPupil(Sight.Everything).WithName("GetPupilAvailability")
            .WithSummary("The weekly times at which a pupil can have lessons, with the pupil's ETag; none given says nothing about when they can.")
            .Produces<AvailabilityJson>().ProducesProblem(404);
        availability.MapPut("", PutAsync).Needs(Permission.OwnDetails).WithIdempotency().WithName("ChangePupilAvailability")
            .WithSummary("Replaces the weekly times, by the pupil or the staff; they must not overlap. Wants If-Match.")
            .Produces<AvailabilityJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(428);
    }

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, SchoolDb db, PupilTimes times, Viewer viewer, CancellationToken cancel) =>
        await FindAsync(id, db, viewer, cancel) is { } pupil
            ? ETags.Ok(context, pupil, Json((await times.ReadAsync([id], cancel))[id]))
            : Refusal.NotFound("pupil").ToProblem();

    private static async Task<IResult> PutAsync(
        Guid id, AvailabilityJson body, HttpContext context, ChangeAvailability change, PupilTimes times, Viewer viewer, CancellationToken cancel)
    {
        if (ETags.Missing(context) is { } missing)
        {
            return missing;
        }

        var read = Read(body);
        if (!read.Ok)
        {
            return read.Refusal.ToProblem();
        }

        var changed = await change.RunAsync(viewer, id, read.Value, ETags.Wanted(context), cancel);
        return changed.Ok ? ETags.Ok(context, changed.Value, Json((await times.ReadAsync([id], cancel))[id])) : changed.Refusal.ToProblem();
    }

    private static Outcome<IReadOnlyList<AvailableTime>> Read(AvailabilityJson body)
    {
        const string Form = "Give the time as HH:mm, such as 18:30.";
        var errors = new FieldErrors().When(body.Times is null, nameof(body.Times), "Give the times, or an empty list for none.");
        var times = new List<AvailableTime>();
        foreach (var (index, time) in (body.Times ?? []).Index())
        {
            var (from, to) = (HourMinute.Parse(time?.From ?? ""), HourMinute.Parse(time?.To ?? ""));
            errors.When(!from.Success, $"Times[{index}].From", Form).When(!to.Success, $"Times[{index}].To", Form);
            if (time is not null && from.Success && to.Success)
            {
                times.Add(new(time.Day, from.Value, to.Value));
            }
        }

        return errors.ToRefusal() is { } invalid ? invalid : times;
    }

    private static AvailabilityJson Json(IReadOnlyList<AvailableTime> times) => new([.. times.Select(AvailableTimeJson.Of)]);

    private static Task<Pupil?> FindAsync(Guid id, SchoolDb db, Viewer viewer, CancellationToken cancel) =>
        db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(p => p.Id == id, cancel);
}
