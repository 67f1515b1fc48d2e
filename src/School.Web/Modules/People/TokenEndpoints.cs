using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

internal static class TokenEndpoints
{
    public static void MapTokens(this IEndpointRouteBuilder app)
    {
        var tokens = app.MapApi("tokens");
        tokens.MapPost("", IssueAsync).AllowAnonymous()
            .WithName("IssueToken").WithSummary("Sign in: a bearer token for an e-mail address, a password and, where sign-in codes are on, the code")
            .Produces<TokenIssued>(StatusCodes.Status201Created).ProducesProblem(400).ProducesProblem(401).ProducesProblem(429);
        tokens.MapGet("", ListAsync).Needs(Permission.OwnSignIn)
            .WithName("ListTokens").WithSummary("Your own living tokens, newest first; the token itself is told only once")
            .Produces<Page<TokenView>>().ProducesProblem(400);
        tokens.MapGet("/{id:guid}", GetAsync).Needs(Permission.OwnSignIn)
            .WithName("GetToken").WithSummary("One of your own living tokens, without the token itself")
            .Produces<TokenView>().ProducesProblem(404);
        tokens.MapDelete("/{id:guid}", RevokeAsync).Needs(Permission.OwnSignIn).WithIdempotency()
            .WithName("RevokeToken").WithSummary("End one of your own tokens")
            .Produces(StatusCodes.Status204NoContent).ProducesProblem(404);
    }

    private static async Task<IResult> IssueAsync(
        TokenWish wish, HttpContext context, CheckPassword checkPassword, CheckSecondStep checkSecondStep, StaffSecondStep staff, ApiTokens tokens, PageSignIn signIn, CancellationToken cancel)
    {
        var refusal = new FieldErrors()
            .When(string.IsNullOrWhiteSpace(wish.Email), nameof(wish.Email), "Send the e-mail address that you sign in with.")
            .When(string.IsNullOrEmpty(wish.Password), nameof(wish.Password), "Send your password.")
            .ToRefusal();
        if (refusal is not null)
        {
            return refusal.ToProblem();
        }

        var person = await checkPassword.RunAsync(wish.Email!, wish.Password!, context.Connection.RemoteIpAddress?.ToString() ?? "", cancel);
        if (person.Ok && staff.IsMissing(person.Value))
        {
            return new Refusal(RefusalKind.NotSignedIn, "second_step_missing", "Staff sign in with a sign-in code as well here. Sign in on the pages first and set it up.").ToProblem();
        }

        if (person.Ok && person.Value.TwoFactorEnabled)
        {
            person = string.IsNullOrWhiteSpace(wish.Code)
                ? new Refusal(RefusalKind.NotSignedIn, "code_needed", "Send also the code that your authenticator shows, or a recovery code.")
                : await checkSecondStep.RunAsync(person.Value, wish.Code, cancel);
        }

        if (!person.Ok)
        {
            if (person.Refusal.Kind == RefusalKind.TooMany)
            {
                context.Response.Headers.RetryAfter = CheckPassword.Window.ToTimeSpan().TotalSeconds.ToString("0", null);
            }

            return person.Refusal.ToProblem();
        }

        var (token, row) = await tokens.IssueAsync(person.Value, cancel);
        await signIn.NoteAsync(person.Value, cancel);
        return Results.Created($"{ApiSetup.Prefix}/tokens/{row.Id}", new TokenIssued(token, row.ExpiresAt));
    }

    private static async Task<IResult> ListAsync(Viewer viewer, int? limit, string? cursor, ApiTokens tokens, CancellationToken cancel) =>
        (await tokens.Living(viewer.PersonId).PageNewestAsync(limit, cursor, t => t.Id, TokenView.Of, cancel)).ToResult();

    private static async Task<IResult> GetAsync(Guid id, Viewer viewer, ApiTokens tokens, CancellationToken cancel) =>
        await tokens.Living(viewer.PersonId).SingleOrDefaultAsync(t => t.Id == id, cancel) is { } row ? Results.Ok(TokenView.Of(row)) : Refusal.NotFound("token").ToProblem();

    private static async Task<IResult> RevokeAsync(Guid id, Viewer viewer, ApiTokens tokens, CancellationToken cancel) =>
        await tokens.RevokeAsync(viewer, id, cancel) ? Results.NoContent() : Refusal.NotFound("token").ToProblem();

    internal sealed record TokenWish([property: Needed] string? Email, [property: Needed] string? Password, string? Code = null);

    internal sealed record TokenIssued(string Token, Instant ExpiresAt);

    internal sealed record TokenView(Guid Id, Instant CreatedAt, Instant ExpiresAt, Instant? LastUsedAt)
    {
        public static TokenView Of(ApiToken row) => new(row.Id, row.CreatedAt, row.ExpiresAt, row.LastUsedAt);
    }
}
