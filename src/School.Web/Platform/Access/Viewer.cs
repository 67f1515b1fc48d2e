using System.Security.Claims;
using School.Core;

namespace School.Web.Platform.Access;

/// <summary>Who is asking: taken from the signed-in principal, or named by a job. Queries use it to keep to the rows that are theirs.</summary>
internal sealed record Viewer(Guid PersonId, Role Role, Guid? InstructorId, Guid? PupilId, string Name)
{
    /// <summary>The service itself, for jobs and the demo generator.</summary>
    public static Viewer Service { get; } = new(Guid.Empty, Role.Office, null, null, "The service");

    /// <summary>Whoever is at the door and has not shown who they are, for the audit.</summary>
    public static Viewer Nobody { get; } = new(Guid.Empty, Role.Pupil, null, null, "Somebody not signed in");

    public bool IsOffice => Role == Role.Office;

    /// <summary>How sentences are worded for them.</summary>
    public Reader Reader => IsStaff ? Reader.Staff : Reader.Pupil;

    public bool IsStaff => Role is Role.Office or Role.Instructor;

    /// <summary>Has still to set up the second step that the school requires of staff, and may do nothing else.</summary>
    public bool SecondStepMissing { get; init; }

    /// <summary>The browser's session; null for a program and for the service itself.</summary>
    public Guid? SessionId { get; init; }

    public bool May(Permission permission) =>
        Permissions.Allows(Role, permission) && (!SecondStepMissing || permission == Permission.OwnSignIn);

    public static Viewer? From(ClaimsPrincipal principal)
    {
        if (principal.Identity?.IsAuthenticated != true
            || !Guid.TryParse(principal.FindFirstValue(ClaimTypes.NameIdentifier), out var person)
            || !Enum.TryParse<Role>(principal.FindFirstValue(ClaimTypes.Role), ignoreCase: true, out var role))
        {
            return null;
        }

        return new(person, role, IdOf(principal, AccessClaims.Instructor), IdOf(principal, AccessClaims.Pupil), principal.FindFirstValue(ClaimTypes.Name) ?? "")
        {
            SecondStepMissing = principal.HasClaim(AccessClaims.SecondStepMissing, "yes"),
            SessionId = IdOf(principal, AccessClaims.Session),
        };
    }

    private static Guid? IdOf(ClaimsPrincipal principal, string type) =>
        Guid.TryParse(principal.FindFirstValue(type), out var id) ? id : null;
}

internal static class AccessClaims
{
    public const string Instructor = "school:instructor";
    public const string Pupil = "school:pupil";
    public const string SecondStepMissing = "school:second-step-missing";
    public const string Session = "school:session";

    /// <summary>A program's token that may read and no more.</summary>
    public const string ReadsOnly = "school:reads-only";
}
