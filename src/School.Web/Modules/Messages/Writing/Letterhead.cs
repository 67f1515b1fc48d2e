using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using NodaTime;
using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.Messages.Writing;

/// <summary>All that the words of a letter are made of beside its own facts and the name of who gets it.</summary>
/// <param name="Name">The school's name.</param>
/// <param name="Phone">Its telephone number.</param>
/// <param name="Email">Its mail address.</param>
/// <param name="Zone">Zone of its clocks.</param>
/// <param name="TwelveHourClock">How times are told.</param>
/// <param name="Nation">Whose holidays it keeps.</param>
/// <param name="Terms">What pupils are told beside.</param>
/// <param name="Address">What stands before the path of a link.</param>
/// <param name="Edition">Of the wordings, see <see cref="Now"/>.</param>
internal sealed record Letterhead(
    string Name, string Phone, string Email, string Zone, bool TwelveHourClock, string Nation, string Terms, string Address, int Edition)
{
    /// <summary>
    /// The edition in which letters are worded now. A change of words that letters which went would show raises it, and the wording goes on
    /// saying the former to <c>letter.Edition</c> below it (LettersAsSentTests holds the words of each edition).
    /// </summary>
    public const int Now = 4;

    public SchoolFacts School => new(Name, Phone, Email, DateTimeZoneProviders.Tzdb[Zone], TwelveHourClock, Nation, Terms);

    public static Letterhead Of(SchoolFacts school, PublicUrl url) => new(
        school.Name, school.Phone, school.Email, school.Zone.Id, school.TwelveHourClock, school.Nation, school.Terms, url.Of(""), Now);

    public string ToJson() => JsonSerializer.Serialize(this, JsonSerializerOptions.Web);

    public static Letterhead Read(string json) => JsonSerializer.Deserialize<Letterhead>(json, JsonSerializerOptions.Web)!;

    /// <summary>A list looks up fifty subjects by it; terms may be pages long.</summary>
    public override int GetHashCode() => HashCode.Combine(Name, Address, Edition);

    public byte[] Digest() => SHA256.HashData(Encoding.UTF8.GetBytes(ToJson()));
}
