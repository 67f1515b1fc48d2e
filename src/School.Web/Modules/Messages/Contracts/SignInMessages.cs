namespace School.Web.Modules.Messages.Contracts;

/// <summary>Kinds of message whose link signs somebody in: once a mail server carries them, nobody else reads them here.</summary>
internal static class SignInMessages
{
    public const string Invitation = "invitation";
    public const string NewPassword = "password-reset";

    /// <summary>Its link shows that the letter arrived, so nobody else follows it.</summary>
    public const string Reached = "reached";
}
