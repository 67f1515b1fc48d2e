using Microsoft.AspNetCore.Identity;

namespace School.Web.Modules.People.SignIn;

/// <summary>Refuses passwords that are easy to guess, common ones first (OWASP ASVS 5.0 V6.2.4), by the published zxcvbn estimate.</summary>
internal sealed class GuessablePasswords : IPasswordValidator<Person>
{
    public const int Longest = 200;
    private const int LeastScore = 3;
    private const int Weighed = 100;

    public Task<IdentityResult> ValidateAsync(UserManager<Person> manager, Person user, string? password)
    {
        if (password is null or { Length: > Longest })
        {
            return Failed($"A password has at most {Longest} characters.");
        }

        // What stands after the first hundred characters cannot make a password weaker, only slower to weigh.
        var weight = Zxcvbn.Zxcvbn.MatchPassword(password[..Math.Min(password.Length, Weighed)], [user.Name, user.Email ?? "", user.UserName ?? ""]);
        return weight.Score < LeastScore
            ? Failed("This password is easy to guess. A few unrelated words make a good one.")
            : Task.FromResult(IdentityResult.Success);
    }

    private static Task<IdentityResult> Failed(string sentence) =>
        Task.FromResult(IdentityResult.Failed(new IdentityError { Code = "PasswordGuessable", Description = sentence }));
}
