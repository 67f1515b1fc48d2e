using School.Web.Platform.Access;

namespace School.Web.Modules.People.SignIn;

/// <summary>Somebody who has shown who they are, under the security stamp of that moment: where it is another one by now, they begin again.</summary>
internal sealed record Proven(Viewer Viewer, string Stamp, bool HasSecondStep)
{
    /// <summary>The hats that somebody wears, in the order in which a day asks for them.</summary>
    public static IEnumerable<Hat> HatsOf(Person person) => ViewerOf(person).Hats;

    public static Proven Of(Person person) =>
        new(ViewerOf(person), person.SecurityStamp!, person.TwoFactorEnabled);

    private static Viewer ViewerOf(Person person) =>
        new(person.Id, person.Parts, person.InstructorId, person.PupilId, person.Name) { ContactId = person.ContactId };
}
