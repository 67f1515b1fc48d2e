using School.Web.Platform.Access;

namespace School.Web.Modules.People.SignIn;

/// <summary>Somebody who has shown who they are, under the security stamp of that moment: where it is another one by now, they begin again.</summary>
internal sealed record Proven(Viewer Viewer, string Stamp, bool HasSecondStep)
{
    public static Proven Of(Person person) =>
        new(new(person.Id, person.Parts, person.InstructorId, person.PupilId, person.Name), person.SecurityStamp!, person.TwoFactorEnabled);
}
