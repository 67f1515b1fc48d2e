using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>Who signs in, and with which hats.</summary>
internal static class SignInEndpoints
{
    public static void MapSignIns(this IEndpointRouteBuilder app)
    {
        var signIns = app.MapApi("sign-ins");
        signIns.MapGet("", ListAsync).Needs(Permission.GiveHats)
            .WithName("ListSignIns").WithSummary("Everybody who signs in or is invited to, with their hats; newest first")
            .Produces<Page<SignInView>>().ProducesProblem(400);
        signIns.MapGet("{id:guid}", GetAsync).Needs(Permission.GiveHats)
            .WithName("GetSignIn").WithSummary("One sign-in with its hats; the ETag is that of the hats")
            .Produces<SignInView>().ProducesProblem(404);
        signIns.MapPut("{id:guid}/hats", ChangeAsync).Needs(Permission.GiveHats).WithIdempotency()
            .WithName("ChangeHats").WithSummary("Says which hats somebody wears: parts of the office, and as which instructor, which pupil and which contact. Wants If-Match.")
            .Produces<SignInView>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
    }

    private static async Task<IResult> ListAsync(int? limit, string? cursor, SchoolDb db, CancellationToken cancel) =>
        (await db.Set<Person>().AsNoTracking().PageNewestAsync(limit, cursor, p => p.Id, SignInView.Of, cancel)).ToResult();

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, SchoolDb db, CancellationToken cancel) =>
        await db.Set<Person>().AsNoTracking().SingleOrDefaultAsync(p => p.Id == id, cancel) is { } person
            ? ETags.Ok(context, person.HatsVersion, SignInView.Of(person))
            : Refusal.NotFound("sign-in").ToProblem();

    private static async Task<IResult> ChangeAsync(Guid id, HatsInput input, HttpContext context, ChangeHats change, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await change.RunAsync(viewer, id, input, ETags.Wanted(context), cancel))
            .ToResult(person => ETags.Ok(context, person.HatsVersion, SignInView.Of(person)));
}

/// <summary>A sign-in as the API tells it.</summary>
internal sealed record SignInView(
    Guid Id, string Name, string Email, string? SignInName, SignInState State, IReadOnlyList<Hat> Hats, IReadOnlyList<OfficePart> Parts, Guid? InstructorId,
    Guid? PupilId, Guid? ContactId, Instant? LastSignIn)
{
    public static SignInView Of(Person person)
    {
        var card = SignIns.Card(person);
        return new(
            person.Id, person.Name, person.Email!, person.UserName, card.State, [.. Proven.HatsOf(person)], person.Parts.List(),
            person.InstructorId, person.PupilId, person.ContactId, person.LastSignIn);
    }
}
