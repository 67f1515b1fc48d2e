using Microsoft.EntityFrameworkCore;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>Forgets a contact who was added and stands beside nobody; whoever stands beside a pupil is removed there.</summary>
internal sealed class RemoveContact(SchoolDb db, ContactBook contacts)
{
    public Task<Outcome<ContactCard>> RunAsync(Viewer viewer, Guid id, int? expected, CancellationToken cancel) => db.InTransactionAsync<ContactCard>(
        async cancel =>
        {
            // Not while they are being put beside somebody.
            await db.LockAsync([ContactLock.Of(id)], cancel);
            return await db.Set<BesidePupil>().AnyAsync(b => b.ContactId == id, cancel)
                ? Refusal.Rule("beside_somebody", "They stand beside a pupil. Remove them on the page of that pupil: whoever is beside nobody any more is forgotten by itself.")
                : await contacts.ForgetAsync(viewer, id, expected, cancel);
        },
        cancel);
}

internal static class ContactRemovalEndpoint
{
    public static void MapContactRemoval(this IEndpointRouteBuilder app) =>
        app.MapApi("contacts").MapDelete("{id:guid}", RemoveAsync).Needs(Permission.ManagePupils).WithIdempotency().WithName("RemoveContact")
            .WithSummary("Forgets a contact who stands beside nobody. If-Match is honoured when sent.")
            .Produces(204).ProducesProblem(404).ProducesProblem(412).ProducesProblem(422);

    private static async Task<IResult> RemoveAsync(Guid id, HttpContext context, RemoveContact remove, Viewer viewer, CancellationToken cancel) =>
        (await remove.RunAsync(viewer, id, ETags.Wanted(context), cancel)).ToResult(_ => Results.NoContent());
}
