using Microsoft.EntityFrameworkCore;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>Somebody beside pupils; how they are reached is null where the pupils are seen by name alone.</summary>
internal sealed record ContactView(Guid Id, string Name, string? Email, string? Phone, ContactKind Kind)
{
    public static ContactView Of(Contact row) => new(row.Id, row.Name, row.Email, row.Phone, row.Kind);
}

internal static class ContactEndpoints
{
    public static void MapContacts(this IEndpointRouteBuilder app)
    {
        var contacts = app.MapApi("contacts");
        contacts.MapGet("", ListAsync).Needs(Permission.ManagePupils).WithName("ListContacts").WithSummary("The people beside pupils; ?q= looks in names.")
            .Produces<Page<ContactView>>().ProducesProblem(400);
        contacts.MapPost("", AddAsync).Needs(Permission.ManagePupils).WithIdempotency().WithName("AddContact").WithSummary("Adds somebody who can then be put beside pupils.")
            .Produces<ContactView>(201).ProducesProblem(400);
        contacts.MapGet("{id:guid}", GetAsync).Needs(Permission.ManagePupils).WithName("GetContact").WithSummary("One contact, with its ETag.")
            .Produces<ContactView>().ProducesProblem(404);
        contacts.MapPut("{id:guid}", ChangeAsync).Needs(Permission.ManagePupils).WithIdempotency().WithName("ChangeContactDetails").WithSummary("Changes a contact; wants If-Match.")
            .Produces<ContactView>().ProducesProblem(400).ProducesProblem(404).ProducesProblem(412).ProducesProblem(428);
    }

    private static async Task<IResult> ListAsync(string? q, int? limit, string? cursor, SchoolDb db, ISeeContacts sees, Viewer viewer, CancellationToken cancel)
    {
        var page = await ContactBook.Matching(db.Set<Contact>().AsNoTracking(), q).PageByIdAsync(limit, cursor, ContactView.Of, cancel);
        var byName = await sees.ByNameAsync(viewer, [.. page.Value?.Items.Select(one => one.Id) ?? []], cancel);
        return page.ToResult(read => Results.Ok(new Page<ContactView>([.. read.Items.Select(one => byName.Contains(one.Id) ? one with { Email = null, Phone = null } : one)], read.Next)));
    }

    private static async Task<IResult> AddAsync(ContactDetails input, HttpContext context, AddContact add, Viewer viewer, CancellationToken cancel) =>
        (await add.RunAsync(viewer, input, cancel)).ToResult(row => ETags.Created(context, row, $"{ApiSetup.Prefix}/contacts/{row.Id}", ContactView.Of(row)));

    private static async Task<IResult> GetAsync(Guid id, HttpContext context, SchoolDb db, ISeeContacts sees, Viewer viewer, CancellationToken cancel) =>
        await sees.RefuseAsync(viewer, id, cancel) is { } unseen ? unseen.ToProblem()
        : await db.Set<Contact>().AsNoTracking().SingleOrDefaultAsync(c => c.Id == id, cancel) is { } row
            ? ETags.Ok(context, row, ContactView.Of(row))
            : Refusal.NotFound("contact").ToProblem();

    private static async Task<IResult> ChangeAsync(Guid id, ContactDetails input, HttpContext context, ChangeContactDetails change, Viewer viewer, CancellationToken cancel) =>
        ETags.Missing(context) ?? (await change.RunAsync(viewer, id, input, ETags.Wanted(context), cancel)).ToRow(context, ContactView.Of);
}
