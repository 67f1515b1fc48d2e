using Microsoft.AspNetCore.Identity;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People.SignIn;

/// <summary>What the framework refuses, in sentences that a person can act on.</summary>
internal sealed class SignInSentences : IdentityErrorDescriber
{
    public override IdentityError DuplicateUserName(string userName) => Error(nameof(DuplicateUserName), SignInNames.Taken);

    public override IdentityError PasswordTooShort(int length) => Error(nameof(PasswordTooShort), $"Use at least {length} characters.");

    public override IdentityError PasswordMismatch() => Error(nameof(PasswordMismatch), "That is not your current password.");

    public override IdentityError InvalidToken() => Error(nameof(InvalidToken), "This link was used before or is too old. Ask for a new one.");

    private static IdentityError Error(string code, string sentence) => new() { Code = code, Description = sentence };
}

internal static class IdentityRefusals
{
    /// <summary>The refusal beside the named field; null when nothing was wrong.</summary>
    public static Refusal? ToRefusal(this IdentityResult result, string field)
    {
        var sentences = result.Errors.Select(e => e.Description).Distinct().ToArray();
        return result.Succeeded ? null : Refusal.Invalid(new Dictionary<string, string[]> { [field] = sentences });
    }
}
