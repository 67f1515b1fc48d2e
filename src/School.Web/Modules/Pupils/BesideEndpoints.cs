using Microsoft.EntityFrameworkCore;
using School.Web.Modules.People.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>Somebody beside a pupil, and what the pupil lets them see.</summary>
internal sealed record BesideView(Guid ContactId, string Name, ContactKind Kind, string Relation, IReadOnlyList<SeenOfPupil> Sees, bool GetsLetters, SignInState SignIn);

internal static class BesideEndpoints
{
    public static void MapBeside(this IEndpointRouteBuilder app)
    {
        var beside = app.MapApi("pupils").MapGroup("{id:guid}/contacts");
        beside.MapGet("", ListAsync).Needs(Permission.OwnDetails).OfPupil(Sight.ByReason).WithName("ListBeside").WithSummary("Who is beside a pupil: parents, partner, employer.")
            .Produces<Page<BesideView>>().ProducesProblem(400).ProducesProblem(404);
        beside.MapGet("{contactId:guid}", GetAsync).Needs(Permission.OwnDetails).OfPupil(Sight.ByReason).WithName("GetBeside").WithSummary("What one contact is to a pupil, with its ETag.")
            .Produces<BesideView>().ProducesProblem(404);
        beside.MapPut("{contactId:guid}", PutAsync).Needs(Permission.OwnDetails).WithIdempotency().WithName("PutBeside")
            .WithSummary("Puts a contact beside a pupil, or with If-Match changes what they see. Whoever sends it for a pupil says that the pupil agreed; the pupil is told.")
            .Produces<BesideView>().Produces<BesideView>(201).ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(422).ProducesProblem(428);
        beside.MapDelete("{contactId:guid}", RemoveAsync).Needs(Permission.OwnDetails).WithIdempotency().WithName("RemoveBeside")
            .WithSummary("They are beside the pupil no more; a contact beside nobody is forgotten. If-Match is honoured when sent.")
            .Produces(204).ProducesProblem(404).ProducesProblem(412);
        beside.MapPost("{contactId:guid}/invitation", InviteAsync).Needs(Permission.OwnDetails).WithIdempotency().WithName("InviteBeside")
            .WithSummary("Invites somebody beside a pupil to sign in, by a letter; inviting again ends the link before.")
            .Produces<BesideView>().ProducesProblem(404).ProducesProblem(409).ProducesProblem(422).ProducesProblem(429);
    }

    private static async Task<IResult> ListAsync(Guid id, int? limit, string? cursor, SchoolDb db, ContactBook contacts, SignIns signIns, Viewer viewer, CancellationToken cancel)
    {
        if (await LettersAsync(db, viewer, id, cancel) is not { } letters)
        {
            return Refusal.NotFound("pupil").ToProblem();
        }

        // A handful at most (BesidePupil.Most).
        var ids = await db.Set<BesidePupil>().Where(b => b.PupilId == id).Select(b => b.ContactId).ToListAsync(cancel);
        var cards = await contacts.CardsAsync(ids, cancel);
        var states = await signIns.OfContactsAsync(ids, cancel);
        return (await db.Set<BesidePupil>().AsNoTracking().Where(b => b.PupilId == id)
            .PageByIdAsync(limit, cursor, row => View(row, cards[row.ContactId], letters, states.GetValueOrDefault(row.ContactId)), cancel)).ToResult();
    }

    private static async Task<IResult> GetAsync(Guid id, Guid contactId, HttpContext context, SchoolDb db, ContactBook contacts, SignIns signIns, Viewer viewer, CancellationToken cancel) =>
        await LettersAsync(db, viewer, id, cancel) is { } letters
        && await db.Set<BesidePupil>().AsNoTracking().SingleOrDefaultAsync(b => b.PupilId == id && b.ContactId == contactId, cancel) is { } row
        && await contacts.FindAsync(contactId, cancel) is { } card
            ? ETags.OkWithMore(context, row.Version, View(row, card, letters, await SignInAsync(signIns, contactId, cancel)))
            : Refusal.NotFound("contact").ToProblem();

    private static async Task<IResult> PutAsync(
        Guid id, Guid contactId, BesideInput input, HttpContext context, PutBeside put, ContactBook contacts, SignIns signIns, Viewer viewer, CancellationToken cancel)
    {
        var missing = ETags.Missing(context);
        var kept = await put.RunAsync(viewer, id, new(contactId, null, input, OnlyNew: missing is not null), ETags.Wanted(context), cancel);
        if (!kept.Ok)
        {
            return missing is not null && kept.Refusal.Code == PutBeside.AlreadyBeside ? missing : kept.Refusal.ToProblem();
        }

        var view = View(kept.Value, (await contacts.FindAsync(contactId, cancel))!, input.GetsLetters ? [contactId] : [], await SignInAsync(signIns, contactId, cancel));
        return missing is not null ? ETags.Created(context, kept.Value, $"{ApiSetup.Prefix}/pupils/{id}/contacts/{contactId}", view) : ETags.Ok(context, kept.Value, view);
    }

    private static async Task<IResult> RemoveAsync(Guid id, Guid contactId, HttpContext context, RemoveBeside remove, Viewer viewer, CancellationToken cancel) =>
        (await remove.RunAsync(viewer, id, contactId, ETags.Wanted(context), cancel)).ToResult(_ => Results.NoContent());

    private static async Task<IResult> InviteAsync(
        Guid id, Guid contactId, HttpContext context, InviteBeside invite, SchoolDb db, ContactBook contacts, SignIns signIns, Viewer viewer, CancellationToken cancel)
    {
        var invited = await invite.RunAsync(viewer, id, contactId, cancel);
        return invited.Ok ? await GetAsync(id, contactId, context, db, contacts, signIns, viewer, cancel) : invited.Refusal.ToProblem();
    }

    private static async Task<SignInCard?> SignInAsync(SignIns signIns, Guid contactId, CancellationToken cancel) =>
        (await signIns.OfContactsAsync([contactId], cancel)).GetValueOrDefault(contactId);

    private static BesideView View(BesidePupil row, ContactCard card, IReadOnlyList<Guid> letters, SignInCard? signIn) =>
        new(row.ContactId, card.Name, card.Kind, row.Relation, row.Sees, letters.Contains(row.ContactId), signIn?.State ?? SignInState.NotInvited);

    private static Task<List<Guid>?> LettersAsync(SchoolDb db, Viewer viewer, Guid id, CancellationToken cancel) =>
        db.Set<Pupil>().AsNoTracking().VisibleTo(viewer).Where(p => p.Id == id).Select(p => (List<Guid>?)p.LettersTo).SingleOrDefaultAsync(cancel);
}
