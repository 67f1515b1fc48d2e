using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Jobs;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>An entry on the waiting list; where <c>kindGiven</c> is false the school gives that kind no longer, and nothing is offered.</summary>
internal sealed record WaitingJson(
    Guid Id, Guid PupilId, WaitingFor For, Guid? InstructorId, LocalDate? From, LocalDate? To, LessonKind Kind, Instant Since, WaitingState State, bool KindGiven)
{
    public static WaitingJson Of(WaitingEntry entry, DiaryRules rules) =>
        new(entry.Id, entry.PupilId, entry.For, entry.InstructorId, entry.From, entry.To, entry.Kind, entry.Since, entry.State, !entry.WaitsInVain(rules));
}

/// <summary>An offer of a lesson: <c>end</c> is <c>start</c> with the minutes of teaching and the breaks.</summary>
internal sealed record OfferJson(
    Guid Id, Guid PupilId, Guid InstructorId, LessonKind Kind, Instant Start, Instant End, int Minutes, IReadOnlyList<BreakJson> Breaks, Guid? InsteadOfLessonId, Instant HeldUntil, OfferState State, Guid? LessonId)
{
    public static OfferJson Of(OfferedSlot offer) => new(
        offer.Id, offer.PupilId, offer.InstructorId, offer.Kind, offer.During.Start, offer.During.End, offer.Minutes, BreakJson.Of(offer.StartsAt, offer.Breaks), offer.InsteadOfId, offer.HeldUntil, offer.State, offer.LessonId);
}

internal static class WaitingEndpoints
{
    private const string EveryHalfMinute = "*/30 * * * * *";

    public static void AddWaiting(this IServiceCollection services)
    {
        services.AddScoped<IModuleDefaults, WaitingDefaults>();
        services.AddScoped<FreedSlots>();
        services.AddScoped<JoinWaitingList>();
        services.AddScoped<LeaveWaitingList>();
        services.AddScoped<ChangeWaiting>();
        services.AddScoped<WaitingFit>();
        services.AddScoped<INeedAttention, WaitingInVain>();
        services.AddScoped<WaitingMail>();
        services.AddSingleton<ILetterWording, WaitingWording>();
        services.AddScoped<WaitingReader>();
        services.AddScoped<AcceptOffer>();
        services.AddScoped<DeclineOffer>();
        services.AddScoped<SaveWaitingSettings>();
        services.AddScoped<OfferFreedSlots>();
        services.AddRecurringJob<OfferFreedSlots>(OfferFreedSlots.Job, EveryHalfMinute, job => job.RunAsync(CancellationToken.None));
    }

    public static void MapWaiting(this IEndpointRouteBuilder app)
    {
        var list = app.MapApi("waiting-list");
        list.MapGet("", ListAsync).Needs(Permission.SeeLessons)
            .WithName("ListWaiting").WithSummary("Who is on the waiting list, longest first; a pupil sees their own entries.").Produces<Page<WaitingJson>>().ProducesProblem(400);
        list.MapPost("", JoinAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("JoinWaitingList").WithSummary("Waits for an earlier lesson, or for any lesson on some days (this week's when none are given).")
            .Produces<WaitingJson>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);
        list.MapGet("{id:guid}", GetAsync).Needs(Permission.SeeLessons)
            .WithName("GetWaiting").WithSummary("One entry on the waiting list, with its ETag.").Produces<WaitingJson>().ProducesProblem(404);
        list.MapPut("{id:guid}", ChangeAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("ChangeWaiting").WithSummary("Changes what is waited for, without losing the place in the order; wants If-Match.")
            .Produces<WaitingJson>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(409).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
        list.MapDelete("{id:guid}", LeaveAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("LeaveWaitingList").WithSummary("Takes an entry off the waiting list; its open offers end.")
            .Produces(204).ProducesProblem(404).ProducesProblem(409);

        var offers = app.MapApi("offers");
        offers.MapGet("", OffersAsync).Needs(Permission.SeeLessons)
            .WithName("ListOffers").WithSummary("Offers of freed times, newest first; a pupil sees their own.").Produces<Page<OfferJson>>().ProducesProblem(400);
        offers.MapGet("{id:guid}", OfferAsync).Needs(Permission.SeeLessons)
            .WithName("GetOffer").WithSummary("One offer.").Produces<OfferJson>().ProducesProblem(404);
        offers.MapPost("{id:guid}/accept", AcceptAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("AcceptOffer").WithSummary("Accepts an offer; the first to accept gets the lesson, everybody else 409.")
            .Produces<LessonJson>().ProducesProblem(404).ProducesProblem(409).ProducesProblem(422);
        offers.MapPost("{id:guid}/decline", DeclineAsync).Needs(Permission.BookLessons).WithIdempotency()
            .WithName("DeclineOffer").WithSummary("Declines an offer and stays on the waiting list.").Produces<OfferJson>().ProducesProblem(404).ProducesProblem(409);

        var settings = app.MapApi("waiting-settings");
        settings.MapGet("", SettingsAsync).Needs(Permission.ManageSchool)
            .WithName("GetWaitingSettings").WithSummary("How freed times are offered.").Produces<WaitingRules>();
        settings.MapPut("", ChangeSettingsAsync).Needs(Permission.ManageSchool).WithIdempotency()
            .WithName("ChangeWaitingSettings").WithSummary("Changes how freed times are offered; wants If-Match.")
            .Produces<WaitingRules>().ProducesProblem(400).ProducesProblem(412).ProducesProblem(428);
    }

    private static async Task<IResult> ListAsync(int? limit, string? cursor, WaitingReader reader, PictureLoader pictures, Viewer viewer, CancellationToken cancel)
    {
        var rules = await pictures.RulesAsync(cancel);
        return (await reader.EntriesAsync(viewer, 0, int.MaxValue, cancel)).ConvertAll(entry => WaitingJson.Of(entry, rules)).PageOf(limit, cursor, entry => entry.Id.ToString()).ToResult();
    }

    private static async Task<IResult> JoinAsync(JoinRequest request, HttpContext context, JoinWaitingList join, PictureLoader pictures, Viewer viewer, CancellationToken cancel)
    {
        var joined = await join.RunAsync(viewer, request, cancel);
        var rules = await pictures.RulesAsync(cancel);
        return joined.ToResult(entry => ETags.Created(context, entry, $"{ApiSetup.Prefix}/waiting-list/{entry.Id}", WaitingJson.Of(entry, rules)));
    }

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, WaitingReader reader, PictureLoader pictures, Viewer viewer, CancellationToken cancel) =>
        await reader.EntryAsync(id, viewer, cancel) is { } entry
            ? ETags.OkWithMore(context, entry.Version, WaitingJson.Of(entry, await pictures.RulesAsync(cancel)))
            : Refusal.NotFound(WaitingAccess.Entry).ToProblem();

    private static async Task<IResult> ChangeAsync(
        Guid id, ChangeWaitingRequest request, HttpContext context, ChangeWaiting change, PictureLoader pictures, Viewer viewer, CancellationToken cancel)
    {
        if (ETags.Missing(context) is { } missing)
        {
            return missing;
        }

        var changed = await change.RunAsync(viewer, id, request, ETags.Wanted(context), cancel);
        var rules = await pictures.RulesAsync(cancel);
        return changed.ToRow(context, entry => WaitingJson.Of(entry, rules));
    }

    private static async Task<IResult> LeaveAsync(Guid id, LeaveWaitingList leave, Viewer viewer, CancellationToken cancel) =>
        (await leave.RunAsync(viewer, id, cancel)).ToResult(_ => Results.NoContent());

    private static async Task<IResult> OffersAsync(int? limit, string? cursor, WaitingReader reader, Viewer viewer, CancellationToken cancel) =>
        (await (await reader.OffersAsync(viewer, cancel)).PageNewestAsync(limit, cursor, offer => offer.Id, OfferJson.Of, cancel)).ToResult();

    private static async Task<IResult> OfferAsync(Guid id, WaitingReader reader, Viewer viewer, CancellationToken cancel) =>
        await reader.OfferAsync(id, viewer, cancel) is { } offer ? Results.Ok(OfferJson.Of(offer)) : Refusal.NotFound("offer").ToProblem();

    private static async Task<IResult> AcceptAsync(Guid id, WaitingReader reader, AcceptOffer accept, Viewer viewer, CancellationToken cancel) =>
        await reader.OfferAsync(id, viewer, cancel) is null
            ? Refusal.NotFound("offer").ToProblem()
            : (await accept.RunAsync(id, cancel)).ToResult(lesson => Results.Ok(LessonJson.Of(lesson, viewer)));

    private static async Task<IResult> DeclineAsync(Guid id, WaitingReader reader, DeclineOffer decline, Viewer viewer, CancellationToken cancel) =>
        await reader.OfferAsync(id, viewer, cancel) is null
            ? Refusal.NotFound("offer").ToProblem()
            : (await decline.RunAsync(id, cancel)).ToResult(offer => Results.Ok(OfferJson.Of(offer)));

    private static async Task<IResult> SettingsAsync(HttpContext context, SchoolDb db, CancellationToken cancel)
    {
        var row = await db.Set<WaitingSettings>().AsNoTracking().SingleAsync(cancel);
        return ETags.Ok(context, row, row.ToRules());
    }

    private static async Task<IResult> ChangeSettingsAsync(
        WaitingRules rules, HttpContext context, SaveWaitingSettings save, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await save.RunAsync(viewer, rules, ETags.Wanted(context), cancel)).ToRow(context, saved => saved.ToRules());
}
