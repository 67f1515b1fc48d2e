using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Cars;
using School.Core.Pupils;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>
/// A pupil without what is guarded; the notes are for staff and null for the pupil. An instructor sees all of their own pupils, of others the name, and
/// by reason how they are reached and where: <c>sees</c> says which, and what they do not see is null.
/// </summary>
internal sealed record PupilView(
    Guid Id, string Name, Sight Sees, string? Email, string? Phone, LocalDate? BirthDate, LocalDate? EarliestLesson, bool? MobilityAward, Gearbox? Gearbox, LicenceView? Licence, LocalDate? ProvisionalFrom,
    LocalDate? EyesightCheckedOn, LocalDate? EyesightFailedOn, Guid? EyesightCheckedBy, PlaceView? PickUp, Guid? UsualInstructorId, int? WeeklyMinutes, int? LessonMinutes,
    bool? NeedsDualControls, string? EmergencyName, string? EmergencyPhone, string? Need, string? Notes, LocalDate? RetiredOn)
{
    public static PupilView Of(Pupil pupil, Viewer viewer, Sight sight = Sight.Everything)
    {
        var (all, opened) = (sight == Sight.Everything, sight >= Sight.ByReason);
        var licence = all ? pupil.SeenLicence() : null;
        return new(
            pupil.Id, pupil.Name, sight, opened ? pupil.Email : null, opened ? pupil.Phone : null, all ? pupil.BirthDate : null, all ? pupil.EarliestLesson() : null,
            all ? pupil.MobilityAward : null, opened ? pupil.Gearbox : null, LicenceView.Of(licence), licence is { Kind: LicenceKind.Provisional } provisional ? provisional.ValidFrom : null,
            all ? pupil.EyesightCheckedOn : null, all ? pupil.EyesightFailedOn : null, all ? pupil.EyesightCheckedBy : null, opened ? PlaceView.Known(pupil.PickUp) : null,
            opened ? pupil.UsualInstructorId : null, all ? pupil.WeeklyMinutes : null, opened ? pupil.LessonMinutes : null, opened ? pupil.NeedsDualControls : null,
            opened ? pupil.EmergencyName : null, opened ? pupil.EmergencyPhone : null, opened ? pupil.Need : null,
            opened && viewer.Towards(pupil.Id).KeepsLearning ? pupil.Notes : null, opened ? pupil.RetiredOn : null);
    }
}

internal static class PupilEndpoints
{
    public static void MapPupilEndpoints(this IEndpointRouteBuilder app)
    {
        var pupils = app.MapApi("pupils");
        pupils.MapGet("", ListAsync).Needs(Permission.OwnDetails).WithName("ListPupils")
            .WithSummary("Pupils of the school, for a pupil only themselves; ?q= looks in name, e-mail and phone, ?retired=true also gives those who left. An instructor gets of other people's pupils the name alone.")
            .Produces<Page<PupilView>>().ProducesProblem(400);
        pupils.MapPost("", AddAsync).Needs(Permission.ManagePupils).WithIdempotency().WithName("AddPupil").WithSummary("Adds a pupil.")
            .Produces<PupilView>(201).ProducesProblem(400);
        pupils.MapGet("{id:guid}", GetAsync).Needs(Permission.OwnDetails).OfPupil(Sight.ByReason).WithName("GetPupil").WithSummary("One pupil, with the ETag; a pupil reads only their own, an instructor their own pupils, and others once a reason was given (403 reason_needed).")
            .Produces<PupilView>().ProducesProblem(404);
        pupils.MapPut("{id:guid}", ChangeAsync).Needs(Permission.ManagePupils).WithIdempotency().WithName("ChangePupil").WithSummary("Changes a pupil; wants If-Match.")
            .Produces<PupilView>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(428);
        pupils.MapPut("{id:guid}/contact", ChangeContactAsync).Needs(Permission.OwnDetails).WithIdempotency().WithName("ChangeContact")
            .WithSummary("Changes contact details, pick-up place and emergency contact, by the pupil or the office; wants If-Match.")
            .Produces<PupilView>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(428);
        pupils.MapPut("{id:guid}/teaching", ChangeTeachingAsync).Needs(Permission.TeachPupils).WithIdempotency().WithName("ChangeTeaching")
            .WithSummary("Changes the need line and the notes, by whoever teaches; wants If-Match.")
            .Produces<PupilView>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(428);
        pupils.MapPost("{id:guid}/eyesight-check", CheckEyesightAsync).Needs(Permission.TeachPupils).WithIdempotency().WithName("CheckEyesight")
            .WithSummary("Records that the pupil read a number plate at 20 metres, or with passed: false could not; then no lesson until a check is passed.").Produces<PupilView>().ProducesProblem(400).ProducesProblem(404);
        pupils.MapPost("{id:guid}/retire", RetireAsync).Needs(Permission.ManagePupils).WithIdempotency().WithName("RetirePupil")
            .WithSummary("No more lessons and no sign-in for this pupil; the history stays. 422 lessons_ahead, test_ahead. If-Match is honoured when sent.")
            .Produces<PupilView>().ProducesProblem(404).ProducesProblem(412).ProducesProblem(422);
        pupils.MapPost("{id:guid}/take-back", TakeBackAsync).Needs(Permission.ManagePupils).WithIdempotency().WithName("TakeBackPupil")
            .WithSummary("A pupil who had left takes lessons again; invite them anew to sign in. If-Match is honoured when sent.")
            .Produces<PupilView>().ProducesProblem(404).ProducesProblem(412);
    }

    private static async Task<IResult> ListAsync(SchoolDb db, OwnPupils own, Viewer viewer, string? q, bool? retired, int? limit, string? cursor, CancellationToken cancel)
    {
        var rows = await db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).Learning(retired == true).Matching(q, await own.SeenAsync(viewer, cancel))
            .PageByIdAsync(limit, cursor, pupil => pupil, cancel);
        var seen = await own.OfAsync(viewer, [.. rows.Value?.Items.Select(pupil => pupil.Id) ?? []], cancel);
        return rows.ToResult(page => Results.Ok(new Page<PupilView>([.. page.Items.Select(pupil => PupilView.Of(pupil, viewer, seen[pupil.Id]))], page.Next)));
    }

    private static async Task<IResult> AddAsync(NewPupilInput input, HttpContext context, AddPupil add, Viewer viewer, CancellationToken cancel) =>
        (await add.RunAsync(viewer, input, cancel)).ToResult(pupil => ETags.Created(context, pupil, $"{ApiSetup.Prefix}/pupils/{pupil.Id}", PupilView.Of(pupil, viewer)));

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, SchoolDb db, Viewer viewer, CancellationToken cancel) =>
        await FindAsync(id, db, viewer, cancel) is { } pupil
            ? context.SightOf() is var sight && sight == Sight.Everything ? ETags.Ok(context, pupil, PupilView.Of(pupil, viewer))
                : ETags.OkWithMore(context, pupil.Version, PupilView.Of(pupil, viewer, sight))
            : Refusal.NotFound("pupil").ToProblem();

    private static Task<IResult> ChangeAsync(
        Guid id, PupilInput input, HttpContext context, OwnPupils own, Viewer viewer, ChangePupil change, CancellationToken cancel) =>
        ChangedAsync(context, own, viewer, expected => change.RunAsync(viewer, id, input, expected, cancel));

    private static Task<IResult> ChangeContactAsync(
        Guid id, ContactInput input, HttpContext context, OwnPupils own, Viewer viewer, ChangeContact change, CancellationToken cancel) =>
        ChangedAsync(context, own, viewer, expected => change.RunAsync(viewer, id, input, expected, cancel));

    private static async Task<IResult> ChangeTeachingAsync(
        Guid id, TeachingInput input, HttpContext context, Viewer viewer, ChangeTeaching change, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await change.RunAsync(viewer, id, input, ETags.Wanted(context), cancel)).ToRow(context, pupil => PupilView.Of(pupil, viewer));

    private static async Task<IResult> CheckEyesightAsync(
        Guid id, EyesightInput input, HttpContext context, CheckEyesight check, Viewer viewer, CancellationToken cancel) =>
        (await check.RunAsync(viewer, id, input, cancel)).ToRow(context, pupil => PupilView.Of(pupil, viewer));

    private static async Task<IResult> TakeBackAsync(Guid id, HttpContext context, OwnPupils own, TakeBackPupil takeBack, Viewer viewer, CancellationToken cancel) =>
        await SeenAsync(context, own, viewer, await takeBack.RunAsync(viewer, id, ETags.Wanted(context), cancel));

    private static async Task<IResult> RetireAsync(Guid id, HttpContext context, OwnPupils own, RetirePupil retire, Viewer viewer, CancellationToken cancel) =>
        await SeenAsync(context, own, viewer, await retire.RunAsync(viewer, id, ETags.Wanted(context), cancel));

    private static async Task<IResult> ChangedAsync(HttpContext context, OwnPupils own, Viewer viewer, Func<int?, Task<Outcome<Pupil>>> change) =>
        ETags.Missing(context) ?? await SeenAsync(context, own, viewer, await change(ETags.Wanted(context)));

    /// <summary>What was done opens nothing: the answer tells what the viewer sees.</summary>
    private static async Task<IResult> SeenAsync(HttpContext context, OwnPupils own, Viewer viewer, Outcome<Pupil> outcome)
    {
        var sight = outcome.Value is { } pupil ? await own.OfAsync(viewer, pupil.Id, context.RequestAborted) : Sight.Name;
        return outcome.ToRow(context, row => PupilView.Of(row, viewer, sight));
    }

    private static Task<Pupil?> FindAsync(Guid id, SchoolDb db, Viewer viewer, CancellationToken cancel) =>
        db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).SingleOrDefaultAsync(p => p.Id == id, cancel);
}
