using System.Globalization;
using System.Security.Claims;
using School.Web.Platform.Access;

namespace School.Web.Modules.People.SignIn;

/// <summary>What a signed-in principal says of the person; the same for cookie and token, made anew for each request.</summary>
internal static class PersonClaims
{
    public static ClaimsPrincipal Principal(Person person, bool secondStepMissing, string scheme, params IEnumerable<Claim> also)
    {
        var identity = new ClaimsIdentity(also, scheme, ClaimTypes.Name, ClaimTypes.Role);
        identity.AddClaim(new(ClaimTypes.NameIdentifier, person.Id.ToString()));
        identity.AddClaim(new(ClaimTypes.Name, person.Name));
        identity.AddClaim(new(AccessClaims.Parts, ((int)person.Parts).ToString(CultureInfo.InvariantCulture)));
        AddId(identity, AccessClaims.Instructor, person.InstructorId);
        AddId(identity, AccessClaims.Pupil, person.PupilId);
        AddId(identity, AccessClaims.Contact, person.ContactId);
        if (secondStepMissing)
        {
            identity.AddClaim(new(AccessClaims.SecondStepMissing, "yes"));
        }

        return new(identity);
    }

    private static void AddId(ClaimsIdentity identity, string type, Guid? id)
    {
        if (id is { } value)
        {
            identity.AddClaim(new(type, value.ToString()));
        }
    }
}
