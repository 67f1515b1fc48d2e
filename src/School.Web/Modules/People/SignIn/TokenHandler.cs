using System.Security.Claims;
using System.Text.Encodings.Web;
using Microsoft.AspNetCore.Authentication;
using Microsoft.Extensions.Options;
using School.Web.Platform.Access;

namespace School.Web.Modules.People.SignIn;

/// <summary>Signs an API request in by its bearer token.</summary>
internal sealed class TokenHandler(
    IOptionsMonitor<AuthenticationSchemeOptions> options, ILoggerFactory logger, UrlEncoder encoder, ApiTokens tokens, StaffSecondStep secondStep)
    : AuthenticationHandler<AuthenticationSchemeOptions>(options, logger, encoder)
{
    private const string Word = "Bearer ";

    protected override async Task<AuthenticateResult> HandleAuthenticateAsync()
    {
        var header = Request.Headers.Authorization.ToString();
        if (!header.StartsWith(Word, StringComparison.OrdinalIgnoreCase))
        {
            return AuthenticateResult.NoResult();
        }

        var found = await tokens.FindAsync(header[Word.Length..].Trim(), Context.RequestAborted);
        if (found is null)
        {
            return AuthenticateResult.Fail("The token is unknown, expired or revoked.");
        }

        Claim[] also = found.Scope == TokenScope.Read ? [new(AccessClaims.ReadsOnly, "yes")] : [];
        return AuthenticateResult.Success(
            new(PersonClaims.Principal(found.Person, secondStep.IsMissing(found.Person), AccessSetup.TokenScheme, also), AccessSetup.TokenScheme));
    }

    protected override Task HandleChallengeAsync(AuthenticationProperties properties)
    {
        Response.Headers.WWWAuthenticate = "Bearer";
        return Problem(StatusCodes.Status401Unauthorized, "Sign in first", "Send a bearer token; POST /api/v1/tokens gives one.", "not_signed_in");
    }

    protected override Task HandleForbiddenAsync(AuthenticationProperties properties) => AccessSetup.ReadsOnlyAndWrites(Context.User, Context)
        ? Problem(StatusCodes.Status403Forbidden, "Not with this token", "This token may only read. Make one with the scope full.", "token_reads_only")
        : Problem(StatusCodes.Status403Forbidden, "Not yours to do", "Your sign-in does not allow this. Ask the office.", "not_allowed");

    private Task Problem(int status, string title, string detail, string code) =>
        Results.Problem(statusCode: status, title: title, detail: detail, extensions: new Dictionary<string, object?> { ["code"] = code }).ExecuteAsync(Context);
}
