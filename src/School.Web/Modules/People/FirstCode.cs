using System.Security.Cryptography;
using System.Text;
using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Keys;

namespace School.Web.Modules.People;

/// <summary>
/// The code with which the first person signs in where nobody does yet: worked out from the school's own key, so every node knows the same one and
/// none keeps it. It is void as soon as somebody has a password.
/// </summary>
internal sealed class FirstCode(SchoolDb db, KeyRing ring)
{
    private const string Letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
    private const int Length = 16;
    private const int Group = 4;
    private const string Purpose = "School.FirstCode.v1";

    /// <summary>Whether nobody has signed in here, or could.</summary>
    // An index finds the office among all; where that has nobody yet, there are few.
    public async Task<bool> IsOpenAsync(CancellationToken cancel) =>
        !await WhoSignIn.AnyAsync(p => p.Parts != OfficeParts.None, cancel) && !await WhoSignIn.AnyAsync(cancel);

    private IQueryable<Person> WhoSignIn => db.Set<Person>().Where(p => p.PasswordHash != null || p.LastSignIn != null);

    /// <summary>As it is printed.</summary>
    public string Words => string.Join('-', Plain().Chunk(Group).Select(four => new string(four)));

    /// <summary>However it is spaced, and with the letters that look like figures taken for them.</summary>
    public bool Is(string? typed)
    {
        var plain = new string([.. (typed ?? "").ToUpperInvariant().Where(char.IsAsciiLetterOrDigit).Select(letter => letter switch { 'O' => '0', 'I' or 'L' => '1', _ => letter })]);
        return CryptographicOperations.FixedTimeEquals(Encoding.ASCII.GetBytes(plain), Encoding.ASCII.GetBytes(Plain()));
    }

    private string Plain() => new([.. ring.Newest().Box.Derive(Length, Purpose).Select(octet => Letters[octet % Letters.Length])]);
}
