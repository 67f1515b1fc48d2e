using School.Web.Modules.Records.Contracts;

namespace School.Web.Modules.People;

/// <summary>How long what is left of sign-ins is kept.</summary>
internal static class SignInRetention
{
    private const string Reason = "When somebody signed in and out stands in the audit. The row itself helps for a while to find out which browser or program it was.";

    public static readonly RetentionRule[] Rules =
    [
        new("sessions", "Browsers on which somebody was signed in", "The row, from when the session would have ended by itself.", Reason)
        {
            Days = 92, Least = 30, Most = 731, Table = "people.sessions", Key = "id", Since = "r.ends_at",
        },
        new("tokens", "Tokens of programs that have run out", "The row, from when the token would have run out.", Reason)
        {
            Days = 92, Least = 30, Most = 731, Table = "people.api_tokens", Key = "id", Since = "r.expires_at",
        },
    ];
}
