using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using School.Core.People;
using School.Web.Platform.Database;
using School.Web.Platform.Forms;

namespace School.Web.Modules.People.SignIn;

/// <summary>Who signs in by which name, and which names are free. An address is a name where it is one person's alone.</summary>
internal sealed class SignInNames(SchoolDb db)
{
    public const string Taken = "Somebody already signs in with this name, or with one that looks like it. Choose another.";

    /// <summary>Held while a name is looked for and taken, so that two do not take one that looks the same.</summary>
    public const string Lock = "sign-in-names";

    /// <summary>As it is compared, however it was typed.</summary>
    public static string FormOf(string typed) => SignInName.Fold(CleanText.Line(typed));

    /// <summary>Whose name it is; where it is nobody's name, who alone has it as an address. One question, whatever the answer.</summary>
    public async Task<Person?> FindAsync(string typed, CancellationToken cancel)
    {
        var form = FormOf(typed);
        var found = await db.Set<Person>().AsNoTracking()
            .Where(p => p.NormalizedUserName == form || (p.NormalizedEmail == form && !p.Closed && p.NormalizedUserName != null))
            .OrderByDescending(p => p.NormalizedUserName == form).ThenBy(p => p.Id).Take(2).ToListAsync(cancel);
        return found switch
        {
            [var first, ..] when first.NormalizedUserName == form => first,
            [var only] => only,
            _ => null,
        };
    }

    /// <summary>Everybody whom letters to this address, or to the address behind this name, concern: those who could sign in.</summary>
    public async Task<IReadOnlyList<Person>> BehindAsync(string typed, CancellationToken cancel)
    {
        var form = FormOf(typed);
        return await db.Set<Person>().AsNoTracking()
            .Where(p => (p.NormalizedEmail == form || p.NormalizedUserName == form) && !p.Closed && p.NormalizedUserName != null)
            .OrderBy(p => p.Id).Take(WriteResetLetters.MostOfOneAddress).ToListAsync(cancel);
    }

    /// <summary>Whether nobody else has this name, one that looks like it, or it as an address.</summary>
    public async Task<bool> IsFreeAsync(string name, Guid person, CancellationToken cancel)
    {
        var form = FormOf(name);
        var look = SignInName.Look(form);
        return !await db.Set<Person>().AnyAsync(p => p.Id != person && p.NormalizedEmail == form, cancel)
            && !await db.Set<Person>().FromSql($"SELECT * FROM people.people WHERE replace(replace(translate(normalized_user_name, '01I-_', 'OLL..'), 'M', 'RN'), 'W', 'VV') = {look}")
                .AnyAsync(p => p.Id != person, cancel);
    }
}

/// <summary>Names and addresses are looked up as they are compared.</summary>
internal sealed class FoldedNames : ILookupNormalizer
{
    public string? NormalizeName(string? name) => name is null ? null : SignInName.Fold(name);

    public string? NormalizeEmail(string? email) => email is null ? null : SignInName.Fold(email);
}

/// <summary>A name is one person's. An address may be several people's, and somebody who is yet to choose a name has none.</summary>
internal sealed class OneNameOnePerson(IdentityErrorDescriber errors) : IUserValidator<Person>
{
    public async Task<IdentityResult> ValidateAsync(UserManager<Person> manager, Person user) =>
        user.UserName is { } name && await manager.FindByNameAsync(name) is { } other && other.Id != user.Id
            ? IdentityResult.Failed(errors.DuplicateUserName(name))
            : IdentityResult.Success;
}
