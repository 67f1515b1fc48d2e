using System.Globalization;
using System.Security.Claims;
using School.Core;

namespace School.Web.Platform.Access;

/// <summary>Who is asking: taken from the signed-in principal, or named by a job. Queries use it to keep to the rows that are theirs.</summary>
/// <param name="PersonId">Whose sign-in.</param>
/// <param name="Parts">What of the office they look after.</param>
/// <param name="InstructorId">Who they are as an instructor.</param>
/// <param name="PupilId">Who they are as a pupil.</param>
/// <param name="Name">Their name.</param>
internal sealed record Viewer(Guid PersonId, OfficeParts Parts, Guid? InstructorId, Guid? PupilId, string Name)
{
    /// <summary>The service itself, for jobs and the demo generator.</summary>
    public static Viewer Service { get; } = new(Guid.Empty, OfficeParts.All, null, null, "The service");

    /// <summary>Whoever is at the door and has not shown who they are, for the audit.</summary>
    public static Viewer Nobody { get; } = new(Guid.Empty, OfficeParts.None, null, null, "Somebody not signed in");

    /// <summary>Keeps everybody's diary, and not only their own.</summary>
    public bool KeepsDiary => May(Permission.SeeWholeDiary);

    /// <summary>Keeps who the pupils are, how they are reached and where.</summary>
    public bool KeepsPupils => May(Permission.ManagePupils);

    /// <summary>Sees pupils that they are not themselves.</summary>
    public bool SeesPupils => May(Permission.SeePupils);

    /// <summary>Teaches, or arranges for those who do: lessons and waiting lists of others are theirs to see.</summary>
    public bool ArrangesLessons => May(Permission.DriveTheDay);

    /// <summary>Keeps what others learn, and not only what they learn themselves.</summary>
    public bool KeepsLearning => May(Permission.TeachPupils);

    /// <summary>How sentences are worded for them.</summary>
    public Reader Reader => IsStaff ? Reader.Staff : Reader.Pupil;

    public bool IsStaff => Parts != OfficeParts.None || InstructorId is not null;

    /// <summary>Has still to set up the second step that the school requires of staff, and may do nothing else.</summary>
    public bool SecondStepMissing { get; init; }

    /// <summary>Who they are as somebody beside pupils. What that opens of each pupil, the pupil says (<c>BesideBook</c>).</summary>
    public Guid? ContactId { get; init; }

    /// <summary>The browser's session; null for a program and for the service itself.</summary>
    public Guid? SessionId { get; init; }

    /// <summary>The hats they wear, in the order in which a day asks for them.</summary>
    public IEnumerable<Hat> Hats => new[] { Hat.Instructor, Hat.Office, Hat.Pupil, Hat.BesidePupil }.Where(Wears);

    public bool Wears(Hat hat) => hat switch
    {
        Hat.Pupil => PupilId is not null,
        Hat.BesidePupil => ContactId is not null,
        Hat.Instructor => InstructorId is not null,
        Hat.Office => Parts != OfficeParts.None,
    };

    public bool May(Permission permission) =>
        (Hats.Any(hat => Permissions.Allows(hat, permission)) || Permissions.Allows(Parts, permission)) && (!SecondStepMissing || permission == Permission.OwnSignIn);

    /// <summary>
    /// As they stand to one pupil. Who learns here as well meets their own lessons as the pupil, whom notice and charges bind, and everybody
    /// else's not as one; whoever keeps the whole diary keeps their own with it.
    /// </summary>
    public Viewer Towards(Guid pupilId) => PupilId switch
    {
        null => this,
        { } own when own != pupilId => this with { PupilId = null },
        _ => KeepsDiary ? this : this with { Parts = OfficeParts.None, InstructorId = null, ContactId = null },
    };

    public static Viewer? From(ClaimsPrincipal principal)
    {
        if (principal.Identity?.IsAuthenticated != true
            || !Guid.TryParse(principal.FindFirstValue(ClaimTypes.NameIdentifier), out var person)
            || !int.TryParse(principal.FindFirstValue(AccessClaims.Parts), NumberStyles.None, CultureInfo.InvariantCulture, out var parts))
        {
            return null;
        }

        return new(
            person, (OfficeParts)parts & OfficeParts.All, IdOf(principal, AccessClaims.Instructor), IdOf(principal, AccessClaims.Pupil),
            principal.FindFirstValue(ClaimTypes.Name) ?? "")
        {
            ContactId = IdOf(principal, AccessClaims.Contact),
            SecondStepMissing = principal.HasClaim(AccessClaims.SecondStepMissing, "yes"),
            SessionId = IdOf(principal, AccessClaims.Session),
        };
    }

    private static Guid? IdOf(ClaimsPrincipal principal, string type) =>
        Guid.TryParse(principal.FindFirstValue(type), out var id) ? id : null;
}

internal static class AccessClaims
{
    /// <summary>The parts of the office as a number; always there, so that a principal without it is nobody.</summary>
    public const string Parts = "school:parts";
    public const string Instructor = "school:instructor";
    public const string Pupil = "school:pupil";
    public const string Contact = "school:contact";
    public const string SecondStepMissing = "school:second-step-missing";
    public const string Session = "school:session";

    /// <summary>A program's token that may read and no more.</summary>
    public const string ReadsOnly = "school:reads-only";
}
