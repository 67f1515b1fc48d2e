using School.Web.Platform.Access;

namespace School.Web.Modules.People.SignIn;

/// <summary>
/// Whether staff must have a second step: the setting <c>School:StaffSecondStep</c>, <c>required</c> (the usual) or <c>offered</c>.
/// Until it is set up, a member of staff can do nothing but that.
/// </summary>
internal sealed class StaffSecondStep(IConfiguration configuration)
{
    private readonly bool _required = configuration["School:StaffSecondStep"] switch
    {
        null or "" or "required" => true,
        "offered" => false,
        var other => throw new InvalidOperationException($"School:StaffSecondStep is \"{other}\"; it can be required or offered."),
    };

    public bool IsRequiredFor(bool staff) => _required && staff;

    public bool IsMissing(Person person) => IsRequiredFor(person.IsStaff) && !person.TwoFactorEnabled;

    public bool IsMissing(Proven who) => IsRequiredFor(who.Viewer.IsStaff) && !who.HasSecondStep;
}
