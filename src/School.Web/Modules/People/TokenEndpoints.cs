using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core;
using School.Web.Modules.People.SignIn;
using School.Web.Platform.Access;
using School.Web.Platform.Api;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.People;

internal static class TokenEndpoints
{
    public static void MapTokens(this IEndpointRouteBuilder app)
    {
        var tokens = app.MapApi("tokens");
        tokens.MapPost("", IssueAsync).AllowAnonymous()
            .WithName("IssueToken").WithSummary("Sign in: a bearer token for an e-mail address or sign-in name, a password and, where sign-in codes are on, the code")
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
        TokenWish wish, HttpContext context, CheckPassword checkPassword, CheckSecondStep checkSecondStep, StaffSecondStep staff, IssueToken issue, KnownDevices devices, CancellationToken cancel)
    {
        var refusal = new FieldErrors()
            .When(string.IsNullOrWhiteSpace(wish.Email), nameof(wish.Email), "Send the e-mail address or the name that you sign in with, as email.")
            .When(wish.Email?.Trim().Length > EmailAddress.Longest, nameof(wish.Email), $"An e-mail address has at most {EmailAddress.Longest} characters.")
            .When(string.IsNullOrEmpty(wish.Password), nameof(wish.Password), "Send your password.")
            .When(wish.Password?.Length > GuessablePasswords.Longest, nameof(wish.Password), $"A password has at most {GuessablePasswords.Longest} characters.")
            .When(wish.Code?.Length > CheckSecondStep.LongestCode, nameof(wish.Code), $"A code has at most {CheckSecondStep.LongestCode} characters.")
            .ToRefusal();
        if (refusal is not null)
        {
            return refusal.ToProblem();
        }

        var caller = devices.Of(context);
        var person = await checkPassword.RunAsync(wish.Email!, wish.Password!, caller, cancel);
        if (person.Ok && staff.IsMissing(person.Value))
        {
            return new Refusal(RefusalKind.NotSignedIn, "second_step_missing", "Staff sign in with a sign-in code as well here. Sign in on the pages first and set it up.").ToProblem();
        }

        if (person.Ok && person.Value.HasSecondStep)
        {
            person = string.IsNullOrWhiteSpace(wish.Code)
                ? new Refusal(RefusalKind.NotSignedIn, "code_needed", "Send also the code that your authenticator shows, or a recovery code.")
                : await checkSecondStep.RunAsync(person.Value, wish.Code, caller, cancel);
        }

        if (!person.Ok)
        {
            return person.Refusal.ToProblem();
        }

        var issued = await issue.RunAsync(person.Value.Viewer, new(person.Value.Stamp, wish.Name, wish.Scope), cancel);
        return issued.ToResult(token => Results.Created($"{ApiSetup.Prefix}/tokens/{token.Id}", new TokenIssued(token.Token, token.ExpiresAt)));
    }

    private static async Task<IResult> ListAsync(Viewer viewer, int? limit, string? cursor, ApiTokens tokens, CancellationToken cancel) =>
        (await tokens.Living(viewer.PersonId).PageNewestAsync(limit, cursor, t => t.Id, TokenView.Of, cancel)).ToResult();

    private static async Task<IResult> GetAsync(Guid id, Viewer viewer, ApiTokens tokens, CancellationToken cancel) =>
        await tokens.Living(viewer.PersonId).SingleOrDefaultAsync(t => t.Id == id, cancel) is { } row ? Results.Ok(TokenView.Of(row)) : Refusal.NotFound("token").ToProblem();

    private static async Task<IResult> RevokeAsync(Guid id, Viewer viewer, EndToken end, CancellationToken cancel) =>
        (await end.RunAsync(viewer, id, cancel)).ToResult(_ => Results.NoContent());

    internal sealed record TokenWish(
        [property: Needed, AtMost(EmailAddress.Longest)] string? Email, [property: Needed, AtMost(GuessablePasswords.Longest)] string? Password,
        [property: AtMost(CheckSecondStep.LongestCode)] string? Code = null, [property: AtMost(IssueToken.LongestName)] string? Name = null, TokenScope? Scope = null);

    internal sealed record TokenIssued(string Token, Instant ExpiresAt);

    internal sealed record TokenView(Guid Id, string Name, TokenScope Scope, Instant CreatedAt, Instant ExpiresAt, Instant? LastUsedAt)
    {
        public static TokenView Of(ApiToken row) => new(row.Id, row.Name, row.Scope, row.CreatedAt, row.ExpiresAt, row.LastUsedAt);
    }
}
