using System.Security.Claims;
using Microsoft.AspNetCore.Identity;
using Microsoft.Extensions.Options;
using School.Web.Platform.Access;

namespace School.Web.Modules.People.SignIn;

/// <summary>What a signed-in principal says of the person; the same for cookie and token.</summary>
internal sealed class PersonClaims(UserManager<Person> people, StaffSecondStep secondStep, IOptions<IdentityOptions> options)
    : UserClaimsPrincipalFactory<Person>(people, options)
{
    public static ClaimsPrincipal Principal(Person person, bool secondStepMissing, string scheme)
    {
        var identity = new ClaimsIdentity(scheme, ClaimTypes.Name, ClaimTypes.Role);
        identity.AddClaim(new(ClaimTypes.NameIdentifier, person.Id.ToString()));
        AddOwn(identity, person, secondStepMissing);
        return new(identity);
    }

    protected override async Task<ClaimsIdentity> GenerateClaimsAsync(Person user)
    {
        var identity = await base.GenerateClaimsAsync(user);
        identity.RemoveClaim(identity.FindFirst(ClaimTypes.Name));
        AddOwn(identity, user, secondStep.IsMissing(user));
        return identity;
    }

    private static void AddOwn(ClaimsIdentity identity, Person person, bool secondStepMissing)
    {
        identity.AddClaim(new(ClaimTypes.Name, person.Name));
        identity.AddClaim(new(ClaimTypes.Role, person.Role.ToString().ToLowerInvariant()));
        AddId(identity, AccessClaims.Instructor, person.InstructorId);
        AddId(identity, AccessClaims.Pupil, person.PupilId);
        if (secondStepMissing)
        {
            identity.AddClaim(new(AccessClaims.SecondStepMissing, "yes"));
        }
    }

    private static void AddId(ClaimsIdentity identity, string type, Guid? id)
    {
        if (id is { } value)
        {
            identity.AddClaim(new(type, value.ToString()));
        }
    }
}
